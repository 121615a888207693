"""The chance to reach an age, and to fail in the years after it, as numbers and in words."""

from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

from fleet.errors import BadInput
from fleet.flow.answers import choose_parts, grouping, weibull
from fleet.flow.identifiable import set_apart
from fleet.flow.read_aloud import group_name, number
from fleet.flow.table import Answer, Settings, Table

_FEW = 10.0  # failures below which it is said that they are few; our own rule
_SPANS = {"good": 0, "fails": 1}


def chances(
    table: Table,
    *,
    reach: float,
    within: float,
    by: Sequence[str] | None = None,
    level: float = 0.95,
    settings: Settings | None = None,
) -> Answer:
    """How many are still good at age `reach`, and how many of those fail `within` the time after.

    Ages as in the table. Columns: the group columns, lives, failures, exists, reason, seen_from
    and seen_to (the ages watched), then good, good_low, good_high (share still good at `reach`)
    and fails, fails_low, fails_high (share of those that fails by reach + within), from the
    Weibull fit with profile limits, and curve_fails, the last from the curve without a
    distribution; null without an estimate or limit. One sentence for each group. Raises
    BadInput.
    """
    from fleet.fits.chances import weibull_chances

    if not (0.0 < reach < 1e100 and 0.0 < within < 1e100):
        raise BadInput(
            f"from age {reach:g} for {within:g} is no span; give an age above 0 and a time above 0"
        )
    groups = grouping(table, by)
    fits = weibull(table, by=groups, level=level, settings=settings)
    chosen, _ = choose_parts(table, groups, settings)
    chosen, _ = set_apart(chosen, table, groups)
    found = weibull_chances(chosen, [(0.0, reach), (reach, reach + within)], by=groups, level=level)
    frame = fits.frame.select(*groups, "lives", "failures", "exists", "reason")
    frame = _beside(frame, _oldest(chosen, groups), groups)
    for name, span in _SPANS.items():
        mine = found.filter(pl.col("since") == (0.0 if span == 0 else reach))
        frame = _beside(frame, _renamed(mine, name, groups), groups)
    frame = _beside(frame, _by_curve(chosen, groups, reach, within, level), groups)
    unit = table.age_unit or "units of age"
    words = [
        f"{group_name(row, groups, all_of_them='All lives')}: "
        f"{chances_words(row, reach=reach, within=within, unit=unit)}"
        for row in frame.iter_rows(named=True)
    ]
    return Answer(frame=frame, notes=(*words, *fits.notes))


def _oldest(lives: pl.DataFrame, groups: Sequence[str]) -> pl.DataFrame:
    """The lowest and the highest age watched in each group."""
    named = lives.with_columns(pl.col(c).cast(pl.String).fill_null("unknown") for c in groups)
    ends = (
        pl.col("entry").min().alias("seen_from"),
        pl.max_horizontal("low", "high").max().alias("seen_to"),
    )
    return named.group_by(groups).agg(ends) if groups else named.select(ends)


def _by_curve(
    lives: pl.DataFrame, groups: Sequence[str], reach: float, within: float, level: float
) -> pl.DataFrame:
    """`curve_fails`: the same chance from the curve without a distribution, where it is drawn."""
    from fleet.fits import curve

    points = curve(lives, by=groups, level=level).points

    def at(age: float) -> pl.Expr:
        there = pl.col("age") <= age
        drawn = pl.col("supported").filter(there).last() & (pl.col("age").max() > age)
        return pl.when(drawn).then(pl.col("survival").filter(there).last())

    share = (1.0 - at(reach + within) / at(reach)).fill_nan(None).alias("curve_fails")
    return points.group_by(groups).agg(share) if groups else points.select(share)


def _renamed(found: pl.DataFrame, name: str, groups: Sequence[str]) -> pl.DataFrame:
    """One span's chances under the names of the answer; "good" turns failing into lasting."""
    ends = {"": "chance", "_low": "chance_low", "_high": "chance_high"}
    if name == "good":
        turned = {"": "chance", "_low": "chance_high", "_high": "chance_low"}
        return found.select(
            *groups, *((1.0 - pl.col(c)).alias(name + e) for e, c in turned.items())
        )
    return found.select(*groups, *(pl.col(c).alias(name + e) for e, c in ends.items()))


def _beside(frame: pl.DataFrame, other: pl.DataFrame, groups: Sequence[str]) -> pl.DataFrame:
    if groups:
        return frame.join(
            other, on=list(groups), how="left", nulls_equal=True, maintain_order="left"
        )
    return pl.concat([frame, other], how="horizontal")


def chances_words(row: Mapping[str, Any], *, reach: float, within: float, unit: str) -> str:
    """One group's chances in a sentence, with what weakens them."""
    if not row["exists"] or row["good"] is None:
        return f"no chance can be given: {row['reason'] or 'there is no estimate'}."
    to_come = "next" if within == 1.0 else f"next {number(within)}"
    time = unit.removesuffix("s") if within == 1.0 else unit
    said = (
        f"of 100 sets {_of_100(row['good'])} are still good at {number(reach)} {unit} "
        f"({_limits(row, 'good')}); of 100 that are, {_of_100(row['fails'])} fail within the "
        f"{to_come} {time} ({_limits(row, 'fails')})."
    )
    if row["failures"] < _FEW:
        failures = "1 failure" if row["failures"] == 1.0 else f"{number(row['failures'])} failures"
        said += f" That rests on {failures}: few, so take it as rough."
    curve = row["curve_fails"]
    low, high = row["fails_low"], row["fails_high"]
    if curve is not None and (curve < (low or 0.0) or curve > (1.0 if high is None else high)):
        said += (
            f" The curve drawn without a distribution says {_of_100(curve)} of 100 instead: do not "
            "use this before looking whether the Weibull fits (--check)."
        )
    if row["seen_from"] is not None and reach < row["seen_from"]:
        said += f" None was watched below {number(row['seen_from'])} {unit}."
    if row["seen_to"] is not None and reach + within > row["seen_to"]:
        said += (
            f" None was watched beyond {number(row['seen_to'])} {unit}: there the fit only guesses."
        )
    return said


def _of_100(share: float) -> str:
    if share < 0.01:
        return "fewer than 1" if share > 0.0 else "none"
    return "more than 99" if share > 0.99 else f"{100.0 * share:.0f}"


def _limits(row: Mapping[str, Any], name: str) -> str:
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    if low is None and high is None:
        return "no limits"
    if high is None:
        return f"{_of_100(low)} or more, no upper limit"
    if low is None:
        return f"{_of_100(high)} or fewer, no lower limit"
    return f"{_of_100(low)} to {_of_100(high)}"
