"""Corrections and withdrawals among arriving records: what they name must exist and be free."""

import polars as pl

from fleet.store.judging import KEPT, REFUSED, judge, refused, root_of


def judge_links(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Corrections and withdrawals, against everything that would be there afterwards.

    A refusal can leave another row without its target, so this goes on until nothing changes.
    """
    while True:
        before = rows.select(refused().sum()).item()
        rows = _judge_corrections(rows, held)
        rows = _judge_orphaned(rows, held)
        if rows.select(refused().sum()).item() == before:
            return _judge_circles(rows)


def _afterwards(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Every row concerned as the store would hold it: kind, record, root, corrects, dead."""
    kept = rows.filter(pl.col("verdict") == KEPT)
    gone = kept.filter(pl.col("kind") == "withdrawn")["withdraws"]
    columns = ("kind", "record", "root", "supersedes")
    dead = pl.col("record").is_in(gone.implode())
    return pl.concat(
        [
            held.select(*columns, dead=dead | pl.col("withdrawn_by").is_not_null()),
            kept.select(*columns, dead=dead),
        ]
    ).with_columns(corrects=root_of("supersedes"))


def _standing_corrections(after: pl.DataFrame) -> pl.DataFrame:
    """The first standing correction of each family: root, corrected_by."""
    return (
        after.filter(pl.col("corrects").is_not_null() & ~pl.col("dead"))
        .unique("corrects", keep="first", maintain_order=True)
        .select(root="corrects", corrected_by="record")
    )


def _judge_corrections(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Corrections of nothing, of another kind, of themselves, or of what is corrected already."""
    if rows["supersedes"].null_count() == rows.height:
        return rows
    after = _afterwards(rows, held)
    families = after.group_by("root").agg(
        family_kind=pl.col("kind").first(), all_dead=pl.col("dead").all()
    )
    now_dead = after.filter("dead")["record"]
    rows = rows.with_columns(corrects=root_of("supersedes"))
    rows = rows.join(
        families.rename({"root": "corrects"}), on="corrects", how="left", maintain_order="left"
    ).join(
        _standing_corrections(after).rename({"root": "corrects"}),
        on="corrects",
        how="left",
        maintain_order="left",
    )
    corrects = pl.col("corrects").is_not_null()
    stands = corrects & ~pl.col("record").is_in(now_dead.implode())
    named = pl.col("supersedes")
    for when, reason in (
        (
            corrects & pl.col("family_kind").is_null(),
            pl.format(
                "corrects {}, which the store does not have; name the record it corrects", named
            ),
        ),
        (
            corrects & (pl.col("family_kind") != pl.col("kind")),
            pl.format(
                "corrects {}, which is among the {}; a record corrects one of its own kind",
                named,
                "family_kind",
            ),
        ),
        (
            corrects & (pl.col("corrects") == pl.col("root")),
            pl.format("corrects {}, which is itself; name the record it corrects", named),
        ),
        (
            stands & pl.col("all_dead"),
            pl.format("corrects {}, which was taken back; enter that record again first", named),
        ),
        (
            stands & (pl.col("corrected_by") != pl.col("record")),
            pl.format(
                "corrects {}, which {} corrects already; name that one in supersedes instead",
                named,
                "corrected_by",
            ),
        ),
    ):
        rows = judge(rows, when, REFUSED, reason)
    return rows.drop("corrects", "family_kind", "all_dead", "corrected_by")


def _judge_orphaned(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Withdrawals that would leave a standing correction of nothing, or lost their target."""
    if rows["withdraws"].null_count() == rows.height:
        return rows
    after = _afterwards(rows, held)
    corrected = _standing_corrections(after)
    families = (
        after.join(corrected, on="root", how="semi")
        .group_by("root")
        .agg(all_dead=pl.col("dead").all())
    )
    corrected = corrected.join(families, on="root", how="left")
    by_record = after.select("record", "root").unique("record", keep="first")
    targets = by_record.join(corrected, on="root", how="left").rename({"record": "withdraws"})
    rows = rows.join(
        targets.select("withdraws", "corrected_by", "all_dead", found=True),
        on="withdraws",
        how="left",
        maintain_order="left",
    )
    withdraws = pl.col("withdraws").is_not_null()
    rows = judge(
        rows,
        withdraws & pl.col("found").is_null(),
        REFUSED,
        pl.format("takes back {}, which could not be taken itself", "withdraws"),
    )
    rows = judge(
        rows,
        withdraws & pl.col("corrected_by").is_not_null() & pl.col("all_dead"),
        REFUSED,
        pl.format("{} is corrected by {}; take that back first", "withdraws", "corrected_by"),
    )
    return rows.drop("corrected_by", "all_dead", "found")


def _judge_circles(rows: pl.DataFrame) -> pl.DataFrame:
    """Corrections that lead back to themselves; only among rows that arrive together."""
    links = rows.filter((pl.col("verdict") == KEPT) & pl.col("supersedes").is_not_null())
    links = links.filter(~pl.col("dead")).select("seq", "root", corrects=root_of("supersedes"))
    links = links.with_row_index("place")
    step = links.join(
        links.select(corrects="root", leads_to="place"),
        on="corrects",
        how="left",
        maintain_order="left",
    )["leads_to"]
    # Each round doubles the length of the way walked; what has not ended by then never does.
    for _ in range(links.height.bit_length()):
        step = step.gather(step)
    circling = links.filter(step.is_not_null())["seq"]
    if circling.is_empty():
        return rows
    return judge(
        rows,
        pl.col("seq").is_in(circling.implode()),
        REFUSED,
        pl.format("corrects {} in a circle of corrections; leave one of them out", "supersedes"),
    )
