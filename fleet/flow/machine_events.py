"""Everything told of one machine in the order of its days, corrections beside what they correct."""

from collections.abc import Mapping
from datetime import date
from pathlib import Path

import polars as pl

from fleet.flow.machine_told import (
    CORRECTED,
    COUNTS,
    EVENTS,
    TAKEN_BACK,
    cast,
    plain_number,
    reading_events,
    report_events,
    unit_events,
)
from fleet.frames import KINDS

# The order of events of one day; what is not named comes last.
_ORDER = (
    "built", "enrolled", "working", "failed", "before", "recapped", "board_swapped", "repaired",
    "check", "after",
)  # fmt: skip


def machine_events(
    store: Path,
    unit: str,
    known: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    flagged: Mapping[str, str],
) -> pl.DataFrame:
    """EVENTS of a unit up to a day, from birth on.

    `known`: its rows that stood on `as_of`; `flagged`: record to contradicts or told twice.
    """
    from fleet.store import unit_history

    ever = unit_history(store, unit)
    parts = []
    for kind, tell in (
        ("units", unit_events),
        ("reports", report_events),
        ("readings", reading_events),
    ):
        rows = _as_known(_with_changes(ever[kind], kind), known[kind], as_of, flagged)
        told = tell(rows)
        stage = told["stage"] if "stage" in told.columns else told["what"]
        parts.append(told.select(*(cast(name) for name in EVENTS), stage.alias("stage")))
    place = pl.col("stage").replace_strict(
        {what: i for i, what in enumerate(_ORDER)}, default=len(_ORDER), return_dtype=pl.Int64
    )
    # a machine was built before anything was told of it, though nobody knows when
    order = pl.when(pl.col("what") != "built").then(pl.coalesce("latest", "earliest", "entered_on"))
    return (
        pl.concat(parts)
        .with_columns(order=order, place=place)
        .sort("order", "place", "entered_on", "record", nulls_last=False)
        .select(list(EVENTS))
    )


def _with_changes(rows: pl.DataFrame, kind: str) -> pl.DataFrame:
    """Rows with `changed`: each column in which a correction says something else."""
    names = [column.name for column in KINDS[kind].columns if not column.private]
    names = [*names, *(name for name in ("source",) if name not in names)]
    text = {name: _text(name, rows.schema[name]) for name in names}
    root = pl.col("supersedes").str.replace(r"~[0-9]+$", "")
    old = rows.select(
        pl.col("record").str.replace(r"~[0-9]+$", "").alias("_root"),
        *(text[name].alias(f"_was_{name}") for name in names),
    ).unique("_root", keep="last", maintain_order=True)
    joined = rows.with_columns(_root=root).join(
        old.with_columns(_found=pl.lit(value=True)), on="_root", how="left", maintain_order="left"
    )
    changes = [
        pl.when("_found", pl.col(f"_was_{name}").ne_missing(text[name])).then(
            pl.format(
                "{}: {} → {}",
                pl.lit(name.replace("_", " ")),
                pl.col(f"_was_{name}").fill_null("blank"),
                text[name].fill_null("blank"),
            )
        )
        for name in names
    ]
    return joined.with_columns(
        changed=pl.when("_found").then(pl.concat_str(changes, separator="; ", ignore_nulls=True))
    ).select(*rows.columns, "changed")


def _text(name: str, dtype: pl.DataType) -> pl.Expr:
    if dtype == pl.Boolean:
        return pl.when(pl.col(name)).then(pl.lit("yes")).when(~pl.col(name)).then(pl.lit("no"))
    if dtype == pl.Float64:
        return plain_number(name)
    return pl.col(name).cast(pl.String)


def _as_known(
    rows: pl.DataFrame, known: pl.DataFrame, as_of: date, flagged: Mapping[str, str]
) -> pl.DataFrame:
    """Rows entered by a day with their `standing` on it; those dated later are left out."""
    stands = pl.col("record").is_in(known["record"].implode())

    def by_then(what: str, on: str) -> pl.Expr:
        return pl.col(what).is_not_null() & (pl.col(on).is_null() | (pl.col(on) <= as_of))

    standing = (
        pl.when(stands)
        .then(
            pl.col("record").replace_strict(dict(flagged), default=COUNTS, return_dtype=pl.String)
            if flagged
            else pl.lit(COUNTS)
        )
        .when(by_then("withdrawn_by", "withdrawn_on"))
        .then(pl.lit(TAKEN_BACK))
        .when(by_then("superseded_by", "superseded_on"))
        .then(pl.lit(CORRECTED))
    )
    entered = pl.col("entered_on").is_null() | (pl.col("entered_on") <= as_of)
    return rows.filter(entered).with_columns(standing=standing).drop_nulls("standing")
