"""Events to record frames (known_schema), as people write them down.

Causes are left blank, failures and build dates given to the year, failures told twice and batches
mistaken, each with the chance its kind says. The date of a failure stays to the day where parts
were renewed or a fault put right earlier in the same year: to the year it would contradict them.
"""

import numpy as np
import polars as pl

from fleet.frames import known_schema
from fleets.world import Machines, Rng, Truth, Whole

Records = dict[str, pl.DataFrame]
_SECOND_TELLING = (1.0, 7.0)  # days after the first: before any parts are renewed


def write_reports(
    rng: Rng, truth: Truth, events: pl.DataFrame, names: pl.DataFrame, fleet: str
) -> pl.DataFrame:
    """Reports of the events. `names`: machine, unit, enrolled (a day)."""
    told = events.with_columns(
        pl.col("entered").fill_null(pl.col("day")).floor(), pl.col("day").floor()
    ).sort("machine", "day", "kind")
    failed = (told["kind"] == "failed").to_numpy()
    count = told.height
    blank = failed & (rng.random(count) < truth.kind.unknown_cause)
    to_year = failed & (rng.random(count) < truth.kind.failure_to_year)
    told = told.with_columns(
        pl.when(~pl.Series(blank)).then("cause").alias("cause"), to_year=pl.Series(to_year)
    )
    twice = told.filter(pl.Series(failed & (rng.random(count) < truth.kind.twice)))
    later = np.floor(rng.uniform(*_SECOND_TELLING, twice.height))
    twice = twice.with_columns(
        day=pl.col("day") + pl.Series(later, dtype=pl.Float64),
        entered=pl.col("entered") + pl.Series(later, dtype=pl.Float64),
        to_year=pl.lit(False),
        by=pl.lit("second"),
    )
    told = pl.concat([told.with_columns(by=pl.lit("first")), twice])
    told = told.join(
        names.select("machine", "unit"), on="machine", how="inner", maintain_order="left"
    )
    return _reports(_dated(told), fleet)


def _dated(told: pl.DataFrame) -> pl.DataFrame:
    """Adds text, earliest and latest of each date."""
    fixed = told.filter(pl.col("kind").is_in(["recapped", "repaired"])).select(
        "machine", fixed=pl.col("day"), year=_day("day").dt.year()
    ).group_by("machine", "year").agg(pl.col("fixed").min())  # fmt: skip
    day = _day("day")
    told = told.with_columns(year=day.dt.year()).join(
        fixed, on=["machine", "year"], how="left", maintain_order="left"
    )
    clear = (pl.col("fixed") > pl.col("day")).fill_null(value=True)
    # Renewals before the machine was known are told to the year, unless it came that same year.
    old = (pl.col("kind") == "recapped") & (_day("entered").dt.year() > pl.col("year"))
    to_year = ((pl.col("kind") == "failed") & pl.col("to_year") & clear) | old
    return told.with_columns(
        date=pl.when(to_year).then(day.dt.to_string("%Y")).otherwise(day.dt.to_string("%Y-%m-%d")),
        date_earliest=pl.when(to_year).then(pl.date(pl.col("year"), 1, 1)).otherwise(day),
        date_latest=pl.when(to_year)
        .then(pl.min_horizontal(pl.date(pl.col("year"), 12, 31), _day("entered")))
        .otherwise(day),
    )


def _reports(told: pl.DataFrame, fleet: str) -> pl.DataFrame:
    last = _day("last_seen")
    frame = told.select(
        "unit", "date", "date_earliest", "date_latest", "kind", "cause", "because", "positions",
        "by",
        record=pl.format(f"{fleet}-r{{}}", pl.int_range(pl.len())),
        entered_on=_day("entered"),
        source=pl.lit(f"{fleet}-log"),
        last_known_working=last.dt.to_string("%Y-%m-%d"),
        last_known_working_earliest=last,
        last_known_working_latest=last,
        found_dead=pl.when((pl.col("kind") == "failed") & pl.col("dead")).then(pl.lit(True)),
    )  # fmt: skip
    return known_frame("reports", frame)


def write_units(
    rng: Rng, truth: Truth, machines: Machines, names: pl.DataFrame, fleet: str
) -> pl.DataFrame:
    """Units. `names`: machine, unit, enrolled (a day), working."""
    place = names["machine"].to_numpy()
    count = len(place)
    batch = np.where(
        rng.random(count) < truth.kind.wrong_batch,
        rng.integers(0, len(truth.batch_scales), count),
        machines.batch[place],
    )
    to_year = pl.Series(rng.random(count) < truth.kind.build_to_year)
    vague = _vague(rng, truth, count)
    said = truth.kind.heat != "blank"
    built, year = _day("built"), _day("built").dt.year()
    frame = names.with_columns(
        built=pl.Series(np.floor(machines.built[place])),
        batch=pl.Series(batch),
        to_year=to_year,
        vague=vague,
        ambient_c=_half(rng, machines.ambient_c[place], said=said),
        hours_per_year=_half(rng, machines.hours_per_year[place], said=said),
    ).select(
        "unit", "ambient_c", "hours_per_year",
        record=pl.format("{}-u", "unit"),
        entered_on=_day("enrolled"),
        source=pl.lit(f"{fleet}-log"),
        model=pl.lit(fleet),
        batch=pl.format(f"{fleet}-B{{}}", "batch"),
        manufactured=pl.when("to_year").then(built.dt.to_string("%Y")).otherwise(built.dt.to_string("%Y-%m-%d")),
        manufactured_earliest=pl.when("to_year").then(pl.date(year, 1, 1)).otherwise(built),
        manufactured_latest=pl.when("to_year").then(pl.date(year, 12, 31)).otherwise(built),
        enrolled_on=pl.when("vague").then(_day("enrolled").dt.to_string("%Y"))
        .otherwise(_day("enrolled").dt.to_string("%Y-%m-%d")),
        enrolled_on_earliest=pl.when("vague").then(pl.date(_day("enrolled").dt.year(), 1, 1))
        .otherwise(_day("enrolled")),
        enrolled_on_latest=_day("enrolled"),
        enrolled_because=pl.when("working").then(pl.lit("working")).otherwise(pl.lit("failed")),
    )  # fmt: skip
    return known_frame("units", frame)


def _vague(rng: Rng, truth: Truth, count: int) -> pl.Series:
    """Which days of enrolment are told to the year; the latest day is the day it was entered."""
    share = truth.kind.enrol_to_year
    return pl.Series(rng.random(count) < share if share else np.zeros(count, bool))


def write_rest(truth: Truth, fleet: str) -> Records:
    """Source, model and batches. Costs are in planned recaps; each fleet is a kind of its own."""
    since = f"{truth.kind.log_since}-01-01"
    known = not truth.kind.forgetting
    day = np.datetime64(since).astype(object) if known else None
    source = pl.DataFrame(
        [{
            "record": f"{fleet}-s", "source": f"{fleet}-log",
            "collecting_since": since if known else None,
            "collecting_since_earliest": day, "collecting_since_latest": day,
            "keeps_roll_call": True,
        }]
    )  # fmt: skip
    model = pl.DataFrame(
        [{
            "record": f"{fleet}-m", "source": f"{fleet}-log", "model": fleet,
            "kind": f"{fleet}-kind", "planned_cost": 1.0, "failure_cost": truth.cost,
        }]
    )  # fmt: skip
    batches = [f"{fleet}-B{number}" for number in range(len(truth.batch_scales))]
    batch = pl.DataFrame({"record": batches, "batch": batches}).with_columns(
        source=pl.lit(f"{fleet}-log")
    )
    frames = {"sources": source, "models": model, "batches": batch}
    return {kind: known_frame(kind, frame) for kind, frame in frames.items()}


def _half(rng: Rng, values: np.ndarray, *, said: bool) -> pl.Series:
    """Values with half of them blank."""
    hidden = rng.random(len(values)) < 0.5
    return pl.Series(values).set(pl.Series(hidden | (not said)), None)


def _day(name: str) -> pl.Expr:
    return pl.col(name).floor().cast(pl.Int32).cast(pl.Date)


def known_frame(kind: str, frame: pl.DataFrame) -> pl.DataFrame:
    """The frame with every column of its contract; what it lacks is null."""
    schema = known_schema(kind)
    filled = frame.with_columns(content=pl.col("record"), reconstructed=pl.lit(False))
    return filled.select(
        (pl.col(c) if c in filled.columns else pl.lit(None)).cast(dtype).alias(c)
        for c, dtype in schema.items()
    )


def name_units(
    machine: Whole, enrolled: np.ndarray, working: np.ndarray, fleet: str
) -> pl.DataFrame:
    """machine, unit, enrolled, working; units numbered in the order given."""
    return pl.DataFrame(
        {"machine": machine, "enrolled": np.floor(enrolled), "working": working},
        schema={"machine": pl.Int64, "enrolled": pl.Float64, "working": pl.Boolean},
    ).with_columns(unit=pl.format(f"{fleet}-{{}}", pl.int_range(pl.len())))
