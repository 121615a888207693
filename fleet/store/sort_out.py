"""Which arriving records are new, which are known already, and which cannot be taken.

Pure Polars: the caller brings what the store holds of the ids concerned. A record taken back and
entered again has the id of its first entry with ~2, ~3, ... behind it; all entries of one id are
its family, named by the id without the number (`root`). The rules kept here:

* one id, one content;
* of a family at most one entry stands (is not taken back);
* a record is corrected by at most one standing record of its own kind, and corrections never go
  round in a circle.

Rows are judged together, so their order does not matter, except that of two rivals the first is
taken.
"""

import polars as pl

from fleet.store.judging import (
    HELD,
    INCOMING,
    KEPT,
    KNOWN,
    NO_REASON,
    REFUSED,
    judge,
    refused,
    root_of,
)
from fleet.store.links import judge_links


def sort_out(incoming: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Judge arriving rows: columns verdict, reason (null unless rejected) and record (its id in
    the store), one row for each row of `incoming` and in its order.

    Parameters
    ----------
    incoming
        Columns of INCOMING.
    held
        Columns of HELD: every row of the store in the families that `incoming` names by record,
        supersedes or withdraws, and every row that corrects one of those.
    """
    rows = incoming.select(INCOMING.names()).with_row_index("seq")
    rows = rows.with_columns(
        verdict=pl.lit(None, pl.String), reason=pl.lit(None, pl.String), root=root_of("record")
    )
    held = held.select(HELD.names()).with_columns(root=root_of("record"))
    rows = _judge_withdrawals(rows, held)
    dying = _taken_back(rows, held)
    rows = rows.with_columns(dead=pl.col("record").is_in(dying.implode()))
    rows = _judge_against_held(rows, held)
    rows = _judge_rivals(rows)
    rows = _name_again(rows, held)
    rows = rows.with_columns(pl.col("verdict").fill_null(KEPT))
    if rows["supersedes"].null_count() < rows.height or len(dying) > 0:
        rows = judge_links(rows, held)
    return rows.sort("seq").select("verdict", "reason", "record")


def _taken_back(rows: pl.DataFrame, held: pl.DataFrame) -> pl.Series:
    """Ids that withdrawals among the rows take back; one whose own id is another row's does not."""
    first = rows.filter(~refused()).unique("root", keep="first", maintain_order=True)
    own = held.select("record", own="content")
    taking = first.filter(pl.col("withdraws").is_not_null()).join(own, on="record", how="left")
    return taking.filter(pl.col("own").is_null() | (pl.col("own") == pl.col("content")))[
        "withdraws"
    ]


def _judge_withdrawals(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Withdrawals whose target is missing, of another kind, or taken back already."""
    if rows["withdraws"].null_count() == rows.height:
        return rows
    targets = pl.concat(
        [
            held.select("record", "kind", gone=pl.col("withdrawn_by").is_not_null()),
            rows.select("record", "kind", gone=pl.lit(False)),
        ]
    ).unique("record", keep="first")
    rows = rows.join(
        targets.select(withdraws="record", target_kind="kind", target_gone="gone"),
        on="withdraws",
        how="left",
        maintain_order="left",
    )
    is_withdrawal = pl.col("kind") == "withdrawn"
    target = pl.col("withdraws")
    rows = judge(
        rows,
        is_withdrawal & pl.col("target_kind").is_null(),
        REFUSED,
        pl.format(
            "takes back {}, which the store does not have; correct the id or leave the row out",
            target.fill_null("(no id)"),
        ),
    )
    rows = judge(
        rows,
        is_withdrawal & (pl.col("target_kind") == "withdrawn"),
        REFUSED,
        pl.format("takes back {}, itself a taking back; enter the record again instead", target),
    )
    rows = judge(
        rows,
        is_withdrawal & (pl.col("target_kind") != pl.col("withdraws_kind").fill_null("")),
        REFUSED,
        pl.format("takes back {} as of another kind; its kind is {}", target, "target_kind"),
    )
    rows = judge(
        rows, is_withdrawal & (pl.col("target_gone") | _repeated("withdraws")), KNOWN, NO_REASON
    )
    return rows.drop("target_kind", "target_gone")


def _repeated(column: str) -> pl.Expr:
    return ~pl.col(column).is_first_distinct()


def _judge_against_held(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Rows whose id, or whose family, the store has."""
    rows = rows.with_columns(again=pl.lit(False))
    if held.is_empty():
        return rows
    same = held.select(
        "record",
        held_content="content",
        held_kind="kind",
        held_gone=pl.col("withdrawn_by").is_not_null(),
    )
    standing = held.filter(pl.col("withdrawn_by").is_null()).unique("root", keep="first")
    rows = rows.join(same, on="record", how="left", maintain_order="left").join(
        standing.select("root", stands="record", stands_content="content", stands_kind="kind"),
        on="root",
        how="left",
        maintain_order="left",
    )
    has = pl.col("held_kind").is_not_null()
    equal = (pl.col("content") == pl.col("held_content")) & (pl.col("kind") == pl.col("held_kind"))
    again = has & pl.col("held_gone") & ~pl.col("dead")
    rows = judge(rows, has & ~again & equal, KNOWN, NO_REASON)
    rows = judge(rows, has & ~again & ~equal, REFUSED, _clash("record", "held_kind"))
    # From here on: new ids, and ids whose entry was taken back.
    stands = pl.col("stands").is_not_null() & ~pl.col("dead")
    equal = (pl.col("content") == pl.col("stands_content")) & (
        pl.col("kind") == pl.col("stands_kind")
    )
    rows = judge(rows, stands & equal, KNOWN, NO_REASON)
    rows = judge(rows, stands & ~equal, REFUSED, _clash("stands", "stands_kind"))
    return rows.with_columns(again=again.fill_null(False) & pl.col("verdict").is_null()).drop(
        "held_content", "held_kind", "held_gone", "stands", "stands_content", "stands_kind"
    )


def _clash(record: str, kind: str) -> pl.Expr:
    return pl.format(
        "the store has {} already, among the {}, with other content; give this row an id of its "
        "own and, if it corrects that record, name it in supersedes",
        record,
        kind,
    )


def _judge_rivals(rows: pl.DataFrame) -> pl.DataFrame:
    """Of arriving rows with one id, or of one family, the first is taken."""
    # A row that arrives together with its withdrawal is history and has no rival but itself.
    slot = pl.when("dead").then(pl.col("record") + "\n").otherwise("root")
    rows = rows.with_columns(slot=slot)
    if rows["slot"].is_first_distinct().all():
        return rows.drop("slot")
    open_ = pl.col("verdict").is_null()
    first = (
        rows.filter(open_)
        .unique("slot", keep="first", maintain_order=True)
        .select("slot", first="seq", first_content="content", first_kind="kind")
    )
    rows = rows.join(first, on="slot", how="left", maintain_order="left")
    rival = pl.col("seq") != pl.col("first")
    equal = (pl.col("content") == pl.col("first_content")) & (
        pl.col("kind") == pl.col("first_kind")
    )
    rows = judge(rows, rival & equal, KNOWN, NO_REASON)
    rows = judge(
        rows,
        rival & ~equal,
        REFUSED,
        pl.format(
            "the id {} stands for another row before this one; give this row an id of its own",
            "record",
        ),
    )
    return rows.drop("slot", "first", "first_content", "first_kind")


def _name_again(rows: pl.DataFrame, held: pl.DataFrame) -> pl.DataFrame:
    """Ids for records that were taken back and come again."""
    again = pl.col("again") & pl.col("verdict").is_null()
    if rows.select(again.any().not_()).item():
        return rows
    number = pl.col("record").str.extract(r"~([0-9]+)$").cast(pl.Int64, strict=False)
    entries = (
        pl.concat([held.select("root", "record"), rows.select("root", "record")])
        .group_by("root")
        .agg(entries=number.fill_null(1).max())
    )
    rows = rows.join(entries, on="root", how="left", maintain_order="left")
    named = pl.format("{}~{}", "root", pl.col("entries") + 1)
    return rows.with_columns(record=pl.when(again).then(named).otherwise("record")).drop("entries")
