"""A store of invented machines, as large as asked for, to measure pages on.

    python tests/benchmarks/big_store.py even.duckdb --units 100000
    python tests/benchmarks/big_store.py uneven.duckdb --units 100000 --largest 60000

Some 40 models of three batches, enrolled late, seen now and then, failing by Weibull lives with
wear-out, in two thirds of the models sooner where it is warm or they run long; recapped or not; two
in a hundred causes unknown, a fifth of build dates to the year.
"""

import argparse
import tempfile
import time
from datetime import date
from pathlib import Path

import numpy as np
import polars as pl

from fleet.flow.entering import create_store
from fleet.flow.importing import import_files

TODAY = date(2026, 6, 30)
_DAY = np.datetime64(TODAY).astype(int)
_SINCE = int(np.datetime64("2014-01-01").astype(int))
_KINDS = ("dehumidifier", "bread maker", "washer", "incubator", "heater")
_PLACES = 60  # positions of a model
_VALUES = (("47uF", "400"), ("1000uF", "25"), ("470uF", "16"), ("22uF", "50"), ("680uF", "16"))


def make(
    store: Path, *, units: int, models: int = 40, largest: int | None = None, seed: int = 7
) -> None:
    """Write the store; `largest`: how many machines the first model has (None: all alike)."""
    tables = tables_of(units=units, models=models, largest=largest, seed=seed)
    create_store(store)
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for kind, frame in tables.items():
            files.append(Path(folder) / f"{kind}.parquet")
            frame.write_parquet(files[-1])
        done = import_files(store, files, today=TODAY, by="maker")
    if not done.rejected.is_empty():
        raise SystemExit(f"{done.rejected.height} rows refused: {done.rejected.head(3)}")


def tables_of(
    *, units: int, models: int, largest: int | None, seed: int
) -> dict[str, pl.DataFrame]:
    """Record files by kind, all text."""
    rng = np.random.default_rng(seed)
    names = np.array([f"M{n:02d}" for n in range(models)])
    machines, reports = _machines(rng, units, names, largest)
    return {
        "sources": pl.DataFrame(
            {"source": ["Club"], "collecting_since": ["2014-01-01"], "keeps_roll_call": ["yes"]}
        ),
        "models": _models(rng, names),
        "batches": _batches(names),
        "positions": _positions(names),
        "units": machines,
        "reports": reports,
        "readings": _readings(rng, machines, reports),
        "prices": _prices(names),
        "shop": pl.DataFrame(
            {"labour_rate": ["12"], "bench_hours_per_month": ["160"], "budget": ["9000"],
             "currency": ["XTS"], "setup_hours": ["0.75"]}
        ),
        "offers": _offers(),
    }  # fmt: skip


def _machines(
    rng: np.random.Generator, units: int, names: np.ndarray, largest: int | None
) -> tuple[pl.DataFrame, pl.DataFrame]:
    count = len(names)
    if largest is None:
        model = np.arange(units) % count
    else:
        model = np.where(np.arange(units) < largest, 0, 1 + np.arange(units) % (count - 1))
    batch = rng.integers(0, 3, units)
    shape = rng.uniform(2.5, 5.0, count)[model]
    scale = rng.uniform(14.0, 24.0, count)[model] * 365.25
    scale = scale * np.exp(rng.normal(0, 0.15, (count, 3)))[model, batch]
    first = int(np.datetime64("1998-01-01").astype(int))
    built = first + ((batch + rng.random(units)) * 5 * 365.25).astype(int)
    ambient, hours = rng.uniform(12, 30, units).round(), rng.uniform(200, 6000, units).round()
    life = (scale * _site_factor(model, ambient, hours) * rng.weibull(shape)).astype(int) + 1
    enrolled = np.maximum(_SINCE, built + 30) + rng.integers(0, 9 * 365, units)
    # Those dead before they could be enrolled are made to live on: nobody would have told of them.
    life = np.where(
        built + life <= enrolled, enrolled - built + rng.integers(30, 9000, units), life
    )
    failed = built + life
    unit = np.array([f"U-{n:06d}" for n in range(units)])
    to_year = rng.random(units) < 0.2
    blank = rng.random(units) < 0.3
    machines = pl.DataFrame(
        {
            "unit": unit, "model": names[model],
            "batch": np.char.add(np.char.add(names[model], "-B"), batch.astype(str)),
            "serial": np.char.add("S", rng.permutation(units).astype(str)),
            "manufactured": _text(built), "enrolled_on": _text(enrolled),
            "ambient_c": ambient, "hours_per_year": hours,
            "_year": to_year, "_blank": blank,
        }
    ).with_columns(
        manufactured=pl.when("_year").then(pl.col("manufactured").str.slice(0, 4))
        .otherwise("manufactured"),
        ambient_c=pl.when(~pl.col("_blank")).then(pl.col("ambient_c").cast(pl.String)),
        hours_per_year=pl.when(~pl.col("_blank")).then(pl.col("hours_per_year").cast(pl.String)),
        enrolled_because=pl.lit("working"), source=pl.lit("Club"), entered_on="enrolled_on",
    ).drop("_year", "_blank")  # fmt: skip
    return machines, _reports(rng, unit, enrolled, failed)


def _site_factor(model: np.ndarray, ambient: np.ndarray, hours: np.ndarray) -> np.ndarray:
    """How many times as long each machine lives for its heat and use: of every third model as long
    as any, of the others by the ten-kelvin rule at full or half strength and by powered hours.
    """
    strength, calendar = np.array([0.0, 0.5, 1.0])[model % 3], np.array([1.0, 0.7, 0.4])[model % 3]
    heat = 2.0 ** (-strength * (ambient - 21.0) / 10.0)
    return np.asarray(heat / (calendar + (1.0 - calendar) * hours / 3100.0))


def _reports(
    rng: np.random.Generator, unit: np.ndarray, enrolled: np.ndarray, failed: np.ndarray
) -> pl.DataFrame:
    """Check-ins until the failure or now, the failure, and what was done about it."""
    units = len(unit)
    parts = []
    end = np.minimum(failed, _DAY)
    for _ in range(2):  # check-ins
        day = enrolled + 1 + (rng.random(units) * (end - enrolled - 1)).astype(int)
        kept = (day < end) & (day > enrolled)
        parts.append(_rows(unit[kept], day[kept], "working"))
    heard = failed <= _DAY
    cause = np.where(rng.random(units) < 0.1, "other", "capacitor")
    cause = np.where(rng.random(units) < 0.02, "", cause)
    parts.append(_rows(unit[heard], failed[heard], "failed", cause=cause[heard]))
    mended = heard & (rng.random(units) < 0.7) & (failed + 60 < _DAY)
    parts.append(_rows(unit[mended], failed[mended] + 20, "recapped", because="failure"))
    later = mended & (failed + 200 < _DAY)
    day = failed + 90 + (rng.random(units) * np.maximum(_DAY - failed - 100, 1)).astype(int)
    later &= day <= _DAY
    parts.append(_rows(unit[later], day[later], "working"))
    advance = ~heard & (rng.random(units) < 0.05)
    day = enrolled + 10 + (rng.random(units) * np.maximum(_DAY - enrolled - 20, 1)).astype(int)
    advance &= day < _DAY
    parts.append(_rows(unit[advance], day[advance], "recapped", because="planned"))
    return (
        pl.concat(parts)
        .with_columns(source=pl.lit("Club"), entered_on="date")
        .unique(["unit", "date", "kind"], keep="first", maintain_order=True)
    )


def _rows(
    unit: np.ndarray, day: np.ndarray, kind: str, *, cause: np.ndarray | None = None,
    because: str = "",
) -> pl.DataFrame:  # fmt: skip
    return pl.DataFrame(
        {
            "unit": unit, "date": _text(day), "kind": [kind] * len(unit),
            "cause": cause if cause is not None else [""] * len(unit),
            "because": [because] * len(unit),
        },
        schema=dict.fromkeys(("unit", "date", "kind", "cause", "because"), pl.String),
    )  # fmt: skip


def _text(day: np.ndarray) -> pl.Series:
    return pl.Series(day.astype(np.int32)).cast(pl.Date).dt.to_string("%Y-%m-%d")


def _models(rng: np.random.Generator, names: np.ndarray) -> pl.DataFrame:
    planned = rng.integers(25, 60, len(names))
    return pl.DataFrame(
        {
            "model": names, "kind": [_KINDS[n % len(_KINDS)] for n in range(len(names))],
            "planned_cost": planned.astype(str), "failure_cost": (planned * 4).astype(str),
            "currency": "XTS", "bench_hours": rng.choice(["1", "1.5", "2"], len(names)),
            "first_made": "1998", "last_made": "2013",
        }
    )  # fmt: skip


def _batches(names: np.ndarray) -> pl.DataFrame:
    return pl.DataFrame(
        [{"batch": f"{m}-B{b}", "technology": "aluminium"} for m in names for b in range(3)]
    )


def _positions(names: np.ndarray) -> pl.DataFrame:
    rows = []
    for model in names:
        for place in range(_PLACES):
            capacitance, voltage = _VALUES[place % len(_VALUES)]
            rows.append(
                {
                    "model": model, "position": f"C{place + 1}", "capacitance": capacitance,
                    "tolerance": "20%", "voltage": voltage, "temperature": "105",
                    "diameter_mm": "12.5", "length_mm": "20", "lead_form": "radial",
                    "lead_spacing_mm": "5", "clearance_mm": "2", "technology": "aluminium",
                    "rated_hours": "5000", "headroom_mm": "38", "current": "dc",
                    "ground_referenced": "yes", "grounded_end": "negative",
                }
            )  # fmt: skip
    return pl.DataFrame(rows)


def _offers() -> pl.DataFrame:
    return pl.DataFrame(
        [
            {
                "part": f"P-{n}-{more}", "capacitance": capacitance, "tolerance": "20%",
                "voltage": voltage, "temperature": "105", "diameter_mm": "12.5",
                "length_mm": "20", "lead_form": "radial", "lead_spacing_mm": "5",
                "technology": "aluminium", "rated_hours": "5000", "supplier": f"Post {more}",
                "price": f"{1 + 0.1 * n + 0.05 * more:.2f}", "currency": "XTS",
                "price_from_quantity": "1", "shipping": "3.50",
            }
            for n, (capacitance, voltage) in enumerate(_VALUES)
            for more in range(6)
        ]
    )  # fmt: skip


def _prices(names: np.ndarray) -> pl.DataFrame:
    return pl.DataFrame(
        [
            {"model": m, "item": item, "price": price, "currency": "XTS",
             "parts_age_years": age, "priced_on": "2026-05"}
            for m in names
            for item, price, age in (("used", "70", "19"), ("new", "260", None))
        ]
    )  # fmt: skip


def _readings(
    rng: np.random.Generator, machines: pl.DataFrame, reports: pl.DataFrame
) -> pl.DataFrame:
    seen = reports.filter(kind="working").sample(4000, seed=int(rng.integers(1 << 30)))
    if seen.height < 1:
        return pl.DataFrame()
    esr = np.exp(rng.normal(-2, 0.6, seen.height)).round(3).astype(str)
    return seen.select(
        "unit", "date",
        position=pl.format("C{}", 1 + pl.int_range(pl.len()) % 6),
        stage=pl.lit("check"), esr_ohm=pl.Series(esr), in_circuit=pl.lit("yes"),
        entered_on="date", source=pl.lit("Club"),
    )  # fmt: skip


if __name__ == "__main__":
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("store", type=Path)
    asked.add_argument("--units", type=int, default=100_000)
    asked.add_argument("--models", type=int, default=40)
    asked.add_argument("--largest", type=int)
    told = asked.parse_args()
    began = time.perf_counter()
    make(told.store, units=told.units, models=told.models, largest=told.largest)
    print(f"{told.store}: {time.perf_counter() - began:.0f} s")
