"""What unknown causes and one-sided reporting do to the fits, in numbers. METHODS: bias."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, Literal

import polars as pl

from fleet.flow.answers import choose_parts, lives, weibull
from fleet.flow.read_aloud import number
from fleet.flow.table import Answer, Settings, Table, in_years

# Ends of the range, as readers meet them: what share of unknown failures the capacitors get.
_ENDS: tuple[tuple[str, Literal["capacitor", "share", "other"]], ...] = (
    ("all by capacitors", "capacitor"),
    ("shared", "share"),
    ("none by capacitors", "other"),
)
_FITTED = ("lives", "failures", "exists", "reason", "shape", "shape_low", "shape_high",
           "scale", "scale_low", "scale_high", "b10", "b10_low", "b10_high")  # fmt: skip
_SAME = 0.01  # a change of B10 below this share is called none

Row = Mapping[str, Any]


def unknown_ends(
    store: Path, *, as_of: date, settings: Settings | None = None, level: float = 0.95
) -> Answer:
    """The fit of each model with all, their share, and none of its failures of unknown cause.

    Columns: model, unknown (failures of unknown cause), known_capacitor, known_other, share (of
    the unknown given to the capacitors), unknown_cause (which end), lives, failures, exists,
    reason, shape, scale, b10 each with _low and _high; ages in years. Models without a failure of
    unknown cause are left out. A sentence for each model. METHODS: bias
    """
    chosen = settings or Settings()
    parts, shares = [], pl.DataFrame()
    for name, how in _ENDS:
        table = in_years(lives(store, as_of=as_of, settings=replace(chosen, unknown_cause=how)))
        fits = weibull(table, by=("model",), settings=chosen, level=level).frame
        if how == "share":
            shares = table.shares
        parts.append(fits.select("model", pl.lit(name).alias("unknown_cause"), *_FITTED))
    counts = shares.filter(pl.col("unknown") > 0).select(
        "model", "unknown", known_capacitor="capacitor", known_other="other", share="share"
    )
    order = {name: place for place, (name, _) in enumerate(_ENDS)}
    frame = (
        counts.join(pl.concat(parts), on="model")
        .sort("model", pl.col("unknown_cause").replace_strict(order, return_dtype=pl.Int64))
        .select(*counts.columns, "unknown_cause", *_FITTED)
    )
    said = [
        _ends_words(part.to_dicts()) for part in frame.partition_by("model", maintain_order=True)
    ]
    return Answer(frame=frame, notes=tuple(said))


def _ends_words(rows: list[dict[str, Any]]) -> str:
    first, shared, last = rows
    count = first["unknown"]
    whose = "1 failure of unknown cause" if count == 1 else f"{count} failures of unknown cause"
    head = f"{first['model']}, {whose}"
    if not (first["exists"] and last["exists"] and shared["exists"]):
        return (
            f"{head}: whether there is an estimate hangs on their cause (with all of them the "
            f"capacitors': {_b10(first)}; shared: {_b10(shared)}; none: {_b10(last)}). Find out "
            "the causes"
        )
    low, high = sorted((first["b10"], last["b10"]))
    move = high / low - 1.0
    matter = (
        "their cause hardly matters"
        if move < 0.05
        else "find out the causes before relying on it"
        if move > 0.25
        else "their cause matters a little"
    )
    return (
        f"{head}: one in ten has failed by {number(first['b10'])} years if all of them were the "
        f"capacitors', by {number(last['b10'])} if none was ({number(shared['b10'])} shared out); "
        f"shape {number(first['shape'])} to {number(last['shape'])}: {matter}"
    )


def _b10(row: Row) -> str:
    return f"one in ten by {number(row['b10'])} years" if row["exists"] else "no estimate"


def one_sided(table: Table, *, settings: Settings | None = None, level: float = 0.95) -> Answer:
    """What it does that late entry and failure-only reports are reckoned with.

    For each model the fit as it is and the fit that takes every life as watched from new and
    every failure as one that would have been heard of had it not come (entry 0, known_by left
    out). Columns: model, late (lives that entered late), failure_only (lives known only because
    they failed), shape, scale, b10 (as it is), naive_shape, naive_scale, naive_b10. Ages as in
    `table`. A sentence for each model with such lives. METHODS: bias
    """
    from fleet.fits import fit_weibull

    chosen, _ = choose_parts(table, ("model",), settings)
    told = chosen.filter(pl.col("high").is_not_null() | (pl.col("low") > pl.col("entry")))
    plain = told.with_columns(entry=pl.lit(0.0), known_by=pl.lit(None, pl.Float64)).filter(
        pl.col("high").is_not_null() | (pl.col("low") > 0.0)
    )
    as_is = weibull(table, by=("model",), settings=settings, level=level).frame
    naive = fit_weibull(plain, by=("model",), level=level)
    counts = told.group_by("model").agg(
        late=pl.col("count").filter(pl.col("entry") > 0.0).sum(),
        failure_only=pl.col("count").filter(pl.col("known_by").is_not_null()).sum(),
    )
    frame = (
        as_is.select("model", "reason", "shape", "scale", "b10")
        .join(counts, on="model")
        .join(
            naive.select("model", naive_shape="shape", naive_scale="scale", naive_b10="b10"),
            on="model",
            how="left",
        )
        .filter((pl.col("late") > 0) | (pl.col("failure_only") > 0))
        .sort("model")
        .select("model", "late", "failure_only", "shape", "scale", "b10", "naive_shape",
                "naive_scale", "naive_b10", "reason")
    )  # fmt: skip
    unit = table.age_unit or "units of age"
    return Answer(frame=frame, notes=tuple(_one_sided_words(row, unit) for row in frame.to_dicts()))


def _one_sided_words(row: Row, unit: str) -> str:
    some = [
        f"{number(row[column])} {text}"
        for column, text in (
            ("late", "lives came under observation late"),
            ("failure_only", "are known only because they failed"),
        )
        if row[column] > 0
    ]
    head = f"{row['model']}: {' and '.join(some)}"
    if row["b10"] is None or row["naive_b10"] is None:
        why = row["reason"] or "no fit"
        return f"{head}; what that does cannot be shown: one of the fits does not exist ({why})"
    ratio = row["naive_b10"] / row["b10"]
    if abs(ratio - 1.0) < _SAME:
        return f"{head}; taking them as watched from new would change nothing to speak of"
    way = "long" if ratio > 1.0 else "short"
    return (
        f"{head}; taken as watched from new one in ten would seem to fail by "
        f"{number(row['naive_b10'])} {unit} instead of {number(row['b10'])}, too {way} by "
        f"{number(100 * abs(ratio - 1.0))} % (shape {number(row['naive_shape'])} instead of "
        f"{number(row['shape'])})"
    )
