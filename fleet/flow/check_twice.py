"""Events told twice: what counts once already, and what to paste to settle the rest."""

from collections.abc import Iterator

import polars as pl

from fleet.flow.check_effects import Effect, fit_models, moved
from fleet.flow.check_finding import Finding, Look, effect_of

_COMMANDS = 3  # shown in one advice


def told_twice(look: Look) -> Iterator[Finding]:
    """Pairs in `Table.twice_told`, and failures of one machine under two names."""
    pairs = look.table.twice_told
    once, open_pairs = pairs.filter("counted_once"), pairs.filter(~pl.col("counted_once"))
    if not once.is_empty():
        yield Finding(
            subject=look.some(once["unit"].unique(maintain_order=True).to_list()),
            finding="told by two people on different days, counted once",
            count=once.height,
            advice=f"if it was one event, put both on one day: {_commands(once, look)}; if the "
            "machine did run in between, say when: fleet log working UNIT --on DATE",
            to_do="If it was one event, correct both reports to one day; if the machine did run in "
            "between, log when it worked.",
            effect=0.0,
            units=tuple(once["unit"].unique(maintain_order=True).to_list()),
            machines=once["unit"].n_unique(),
        )
    if not open_pairs.is_empty():
        reasons = ", ".join(open_pairs["why"].unique(maintain_order=True).to_list())
        yield Finding(
            subject=look.some(open_pairs["unit"].unique(maintain_order=True).to_list()),
            finding=f"perhaps one event told by two people, counted twice ({reasons})",
            count=open_pairs.height,
            advice=f"if it was one, put both on one day: {_commands(open_pairs, look)}",
            to_do="If it was one event, correct both reports to the day that is known best; if it "
            "was two, nothing.",
            machines=open_pairs["unit"].n_unique(),
            effect=effect_of(_if_once(look, open_pairs)),
            units=tuple(open_pairs["unit"].unique(maintain_order=True).to_list()),
        )
    yield from _two_names(look)


def _commands(pairs: pl.DataFrame, look: Look) -> str:
    dates = dict(look.records["reports"].select("record", "date").iter_rows())
    width = dict(
        look.records["reports"]
        .select("record", (pl.col("date_latest") - pl.col("date_earliest")).dt.total_days())
        .iter_rows()
    )
    lines = []
    for first, second in pairs.select("first", "second").head(_COMMANDS).iter_rows():
        # the date that says more stays
        if (width.get(second) or 0) < (width.get(first) or 0):
            first, second = second, first
        lines.append(f"fleet amend {second} --set date={dates[first]}")
    more = pairs.height - len(lines)
    return "; ".join(lines) + (f" (and {more} more)" if more else "")


def _if_once(look: Look, pairs: pl.DataFrame) -> Effect | None:
    """The fits with each of these pairs on one day."""
    reports = look.records["reports"]
    dates = ("date", "date_earliest", "date_latest")
    first = reports.select(
        pl.col("record").alias("first"), *(pl.col(c).alias(f"{c}_1") for c in dates)
    )
    to = pairs.unique("second", keep="first", maintain_order=True).join(first, on="first").select(
        pl.col("second").alias("record"), *(f"{c}_1" for c in dates)
    )  # fmt: skip
    joined = reports.join(to, on="record", how="left", maintain_order="left").with_columns(
        pl.coalesce(f"{c}_1", c).alias(c) for c in dates
    ).select(reports.columns)  # fmt: skip
    return moved(look.base.fits, fit_models(look.rebuilt(reports=joined)))


def _two_names(look: Look) -> Iterator[Finding]:
    """Machines of one model and serial number under several names: offered, never joined."""
    bare = pl.col("serial").str.to_lowercase().str.replace_all(r"[^0-9a-z]", "")
    units = (
        look.records["units"]
        .unique("unit", keep="first", maintain_order=True)
        .with_columns(bare=bare)
        .filter(pl.col("bare").str.len_chars() > 0)
    )
    several = (
        units.group_by("model", "bare", maintain_order=True)
        .agg("unit", pl.col("serial").first())
        .filter(pl.col("unit").list.len() > 1)
    )
    for model, _, names, serial in several.iter_rows():
        keep, *others = names
        reports = look.records["reports"].filter(pl.col("unit").is_in(others))
        moves = [
            f"fleet amend {record} --set unit={keep}"
            for record in reports["record"].head(_COMMANDS)
        ]
        more = reports.height - len(moves)
        tail = f" (and {more} more reports of {', '.join(others)})" if more > 0 else ""
        yield Finding(
            subject=look.some(names),
            finding=f"{len(names)} names, one model and serial number ({model} {serial}): perhaps "
            "one machine, its failures counted twice",
            count=len(names),
            advice=f"if it is one, keep {keep}: {'; '.join(moves) or 'no report to move'}{tail}; "
            "if not, correct a serial number",
            to_do=f"If it is one machine, correct the reports of {', '.join(others)} to the name "
            f"{keep}; if not, correct a serial number.",
            effect=effect_of(_if_one(look, keep, others)),
            units=tuple(names),
        )


def _if_one(look: Look, keep: str, others: list[str]) -> Effect | None:
    """The fits with the reports of all of them under one name."""
    units = look.records["units"].filter(~pl.col("unit").is_in(others))
    name = pl.when(pl.col("unit").is_in(others)).then(pl.lit(keep)).otherwise("unit")
    reports = look.records["reports"].with_columns(name.alias("unit"))
    return moved(look.base.fits, fit_models(look.rebuilt(units=units, reports=reports)))
