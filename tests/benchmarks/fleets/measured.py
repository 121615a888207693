"""Readings at check-ins: the ESR of one position, which rises with its wear.

A new part has 0.1 ohm; the logarithm rises by 1.2 over one scale of age, and scatters from part to
part and reading to reading by 0.25. These numbers are our own choice, not a fact of the trade.
"""

import numpy as np
import polars as pl

from fleets.world import Rng, Truth
from fleets.written import known_frame

NEW_OHM, RISE, SCATTER = 0.1, 1.2, 0.25


def write_readings(
    rng: Rng, truth: Truth, events: pl.DataFrame, names: pl.DataFrame, fleet: str
) -> pl.DataFrame:
    """Readings at a share of the check-ins. `names`: machine, unit."""
    seen = events.filter(pl.col("wear_1").is_not_null()).sort("machine", "day")
    seen = seen.filter(pl.Series(rng.random(seen.height) < truth.kind.readings))
    first = rng.random(seen.height) < 0.5
    wear = np.where(first, seen["wear_1"].to_numpy(), seen["wear_2"].to_numpy())
    ohm = NEW_OHM * np.exp(RISE * wear + rng.normal(0.0, SCATTER, seen.height))
    day = pl.col("day").floor().cast(pl.Int32).cast(pl.Date)
    frame = seen.with_columns(
        position=pl.Series(np.where(first, "C1", "C2"), dtype=pl.String),
        esr_ohm=pl.Series(ohm.round(3)),
    ).join(names.select("machine", "unit"), on="machine", how="inner", maintain_order="left")
    return known_frame(
        "readings",
        frame.select(
            "unit", "position", "esr_ohm",
            record=pl.format(f"{fleet}-m{{}}", pl.int_range(pl.len())),
            entered_on=day,
            source=pl.lit(f"{fleet}-log"),
            date=day.dt.to_string("%Y-%m-%d"),
            date_earliest=day,
            date_latest=day,
            stage=pl.lit("check"),
            in_circuit=pl.lit(True),
        ),
    )  # fmt: skip
