"""How many failures a machine has had by each age, through all its sets of capacitors."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.ages import days_expr, middle_expr
from fleet.flow.read_aloud import group_name, number
from fleet.flow.table import Answer, Settings, Table
from fleet.frames import LIFE

_FEWEST = 5  # machines below which nothing is said of the pace
_FEWEST_FAILURES = 10  # below this the pace is not judged; our own rule
_CLEAR = 0.05
_SAID = 20
_FIXES = ("repaired", "recapped", "board_swapped")
# Within a day: seen working, then failed, then put right, then retired.
_RANK = {"failed": 1, "repaired": 2, "recapped": 2, "board_swapped": 2, "retired": 3}


def repeated_failures(
    table: Table, *, unit: str, by: Sequence[str] = (), level: float = 0.95
) -> Answer:
    """Mean number of failures by age of the machine (fits.mean_cumulative), and what it means.

    `table.lives`: one row for each failure of a machine that goes on, and one without high where
    its watch ends; `unit` is the column that names the machine. Raises BadFrame.
    """
    from fleet.fits import mean_cumulative

    told = mean_cumulative(table.lives, unit=unit, by=by, level=level)
    words = []
    paces = told.pace.rows(named=True)
    for pace in paces[:_SAID]:
        own = told.points
        for column in by:
            own = own.filter(pl.col(column).eq_missing(pace[column]))
        name = group_name(pace, by, all_of_them="All machines")
        words.append(f"{name}: {mean_words(own, pace, unit=table.age_unit or 'units of age')}")
    if len(paces) > _SAID:
        words.append(f"{len(paces) - _SAID} further groups are not put into words.")
    return Answer(frame=told.points, notes=tuple(words))


def mean_words(points: pl.DataFrame, pace: Mapping[str, Any], *, unit: str) -> str:
    """One group's repeated failures in a sentence or two."""
    drawn = points.filter("supported")
    machines = "1 machine" if pace["units"] == 1 else f"{number(pace['units'])} machines"
    if not pace["failures"]:
        return f"{machines}, no failure seen."
    failures = "1 failure" if pace["failures"] == 1 else f"{number(pace['failures'])} failures"
    if drawn.is_empty():
        return f"{failures} of {machines}: too few watched to say how often."
    last = drawn.row(-1, named=True)
    low, high = last["mean_failures_low"], last["mean_failures_high"]
    between = "no limits" if low is None else f"between {number(low)} and {number(high)}"
    said = (
        f"a machine has had {number(last['mean_failures'])} failures on average by "
        f"{number(last['age'])} {unit} ({between}); {failures} of {machines}."
    )
    begins = points["age"][0]
    if begins > 0.0:
        said += f" Counted from {number(begins)} {unit} of age, where watching begins."
    early = points.filter((pl.col("failures") > 0) & (pl.col("age") < drawn["age"][0]))
    if early.height:
        said += " The earliest failures rest on very few machines."
    return f"{said} {_pace_words(pace, unit)}"


def _pace_words(pace: Mapping[str, Any], unit: str) -> str:
    few = pace["units"] < _FEWEST or pace["failures"] < _FEWEST_FAILURES
    if pace["p_value"] is None or few:
        return "Too few to say whether failures come faster with age."
    before, after = pace["rate_before"], pace["rate_after"]
    rates = (
        f"{_every(before, unit)} below age {number(pace['middle'])}, {_every(after, unit)} above it"
    )
    if pace["p_value"] >= _CLEAR:
        return f"Whether failures come faster with age is open: {rates}."
    if after > before:
        return (
            f"Failures come faster with age: {rates}. That alone does not tell whether a repair "
            "makes a machine as good as new."
        )
    return f"Failures come more slowly with age: {rates}."


def _every(rate: float, unit: str) -> str:
    return "no failure" if rate <= 0.0 else f"one failure in {number(1.0 / rate)} {unit}"


def machine_histories(store: Path, *, as_of: date, settings: Settings | None = None) -> Table:
    """Each machine's capacitor failures by its own age in days, from new whatever was replaced.

    Watched from the day it was enrolled (a machine known because it failed: from after that
    failure, which does not count) to its last report. Failures of unknown cause count by the
    share of known causes, unless `settings` take them one way. Machines without a build date,
    or with no report after enrolment, are left out and counted. Columns: LIFE, unit, model,
    batch.
    """
    from fleet.flow.answers import lives
    from fleet.flow.known import known_records

    settings = settings or Settings()
    records = known_records(store, ("units", "reports"), as_of=as_of)
    units = _units(records["units"])
    reports = _reports(records["reports"], units, as_of)
    seen = reports.group_by("unit").agg(first=pl.col("day").min(), last=pl.col("day").max())
    known = units.join(seen, on="unit", how="left").with_columns(
        enrolled=pl.coalesce("enrolled", "first")
    )
    failures = _failures(reports)
    whole = known.join(_made_known(failures, known), on="unit", how="left").with_columns(
        entry=pl.max_horizontal("enrolled", "failed_first")
    )
    usable = whole.filter(
        pl.col("built").is_not_null() & (pl.col("last") > pl.col("entry")).fill_null(value=False)
    )
    shares = lives(store, as_of=as_of, settings=settings).shares.select("model", "share")
    rows = _rows(usable, failures, shares, settings)
    notes = []
    if out := units.height - usable.height:
        what = "machine is" if out == 1 else "machines are"
        notes.append(
            f"{out:,} {what} left out: no build date, or no report after coming to be known"
        )
    return Table(lives=rows, notes=tuple(notes), from_store=True, age_unit="days")


def _middle(name: str) -> pl.Expr:
    early, late = pl.col(f"{name}_earliest"), pl.col(f"{name}_latest")
    return middle_expr(pl.coalesce(early, late), pl.coalesce(late, early))


def _units(units: pl.DataFrame) -> pl.DataFrame:
    return (
        units.sort("unit", "record")
        .unique("unit", keep="first", maintain_order=True)
        .select(
            "unit",
            "model",
            "batch",
            "enrolled_because",
            built=_middle("manufactured"),
            enrolled=_middle("enrolled_on"),
        )
    )


def _reports(reports: pl.DataFrame, units: pl.DataFrame, as_of: date) -> pl.DataFrame:
    """Reports but notes, in order, each with its day and the kind of the one before.

    A machine enrolled working was seen working on that day.
    """
    told = reports.filter((pl.col("date_latest") <= as_of) & (pl.col("kind") != "note")).select(
        "unit", "kind", "cause", "because", "cured", "record", day=_middle("date")
    )
    worked = units.filter(
        (pl.col("enrolled_because") == "working") & (pl.col("enrolled") <= as_of)
    ).select("unit", kind=pl.lit("working"), day="enrolled")
    rank = pl.col("kind").replace_strict(_RANK, default=0, return_dtype=pl.Int8)
    return (
        pl.concat([told, worked], how="diagonal")
        .join(units.select("unit"), on="unit", how="semi")
        .sort("unit", "day", rank, "record", nulls_last=True)
        .with_columns(before=_stood().shift(1).over("unit"))
    )


def _stood() -> pl.Expr:
    """The kind of a report; `failed` for something done in vain: the machine still did not work."""
    vain = ~pl.col("cured").fill_null(value=True) & pl.col("kind").is_in(_FIXES)
    return pl.when(vain).then(pl.lit("failed")).otherwise("kind")


def _made_known(failures: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    """The failure that made a unit known: the last by its enrolment, else the first after it."""
    because = units.filter(pl.col("enrolled_because") == "failed").select("unit", "enrolled")
    told = failures.join(because, on="unit", how="inner").sort("unit", "day")
    by_then = pl.col("day").filter(pl.col("day") <= pl.col("enrolled")).max()
    return told.group_by("unit").agg(failed_first=pl.coalesce(by_then, pl.col("day").min()))


def _failures(reports: pl.DataFrame) -> pl.DataFrame:
    """Failures that begin: a report of failing after one of running, or a recap that says so."""
    begins = (pl.col("kind") == "failed") & (pl.col("before") != "failed").fill_null(value=True)
    implied = (
        (pl.col("kind") == "recapped")
        & (pl.col("because") == "failure").fill_null(value=False)
        & (pl.col("before") != "failed").fill_null(value=True)
    )
    cause = pl.when(implied).then(pl.lit("capacitor")).otherwise(pl.col("cause"))
    return reports.filter(begins | implied).select("unit", "day", cause=cause.fill_null("unknown"))


def _rows(
    units: pl.DataFrame, failures: pl.DataFrame, shares: pl.DataFrame, settings: Settings
) -> pl.DataFrame:
    one_way = {"share": None, "capacitor": 1.0, "other": 0.0}[settings.unknown_cause]
    unknown = pl.coalesce("share", pl.lit(0.5)) if one_way is None else pl.lit(one_way)
    weight = (
        pl.when(pl.col("cause") == "capacitor")
        .then(1.0)
        .when(pl.col("cause") == "other")
        .then(0.0)
        .otherwise(unknown)
    )
    told = (
        failures.join(units, on="unit", how="inner")
        .filter((pl.col("day") > pl.col("entry")) & (pl.col("day") <= pl.col("last")))
        .join(shares, on="model", how="left")
        .with_columns(count=weight)
        .filter(pl.col("count") > 0.0)
        .with_columns(low="day", high="day")
    )
    ends = units.with_columns(low="last", high=pl.lit(None, pl.Date), count=pl.lit(1.0))
    names = ("unit", "model", "batch")
    columns = ("built", "entry", "low", "high", "count", *names)
    rows = pl.concat([told.select(columns), ends.select(columns)])
    aged = rows.with_columns(
        days_expr(pl.col("built"), pl.col(c)).clip(lower_bound=0.0).alias(c)
        for c in ("entry", "low", "high")
    )
    return (
        aged.with_columns(known_by=pl.lit(None, pl.Float64))
        .select(*LIFE, *names)
        .filter(pl.col("low") > pl.col("entry"))
        .sort("unit", "low", "high", nulls_last=True)
    )
