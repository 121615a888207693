"""The invented lives of lives.csv, as the package reads them and as the sampler does. Years.

one batch: 8 failures among 30. four batches: 12 failures in all; late entries, intervals, sets
known only because they failed, two causes unknown, the fourth batch fitted later. heat and use:
two batches, half of the temperatures and hours blank. no failure: one batch has none. forgetting:
ten sets known because they failed, from a source that never said since when it collects.
"""

from pathlib import Path

import numpy as np
import polars as pl
from by_definition import PRIOR, Model

from fleet.fits import Prior
from fleet.frames import EVIDENCE

LIVES = Path(__file__).with_name("lives.csv")
NUMBERS = (
    "entry", "low", "high", "known_by", "count", "ambient_c", "hours_per_year", "other_low",
    "other_chance",
)  # fmt: skip

# mean and sd of temperatures and of log hours of sets when new: what the package makes of the set
LAWS = {"heat and use": (30.5625, 6.782594912715928, 7.407755362432705, 0.6799207981418479)}


def names():
    """The sets, in the order of the file."""
    return tuple(pl.read_csv(LIVES)["model"].unique(maintain_order=True))


def evidence(name):
    """One set as frames.EVIDENCE."""
    lives = pl.read_csv(LIVES, infer_schema=False).filter(pl.col("model") == name)
    return (
        lives.with_columns(
            *(pl.col(column).cast(pl.Float64) for column in NUMBERS),
            forgetful=pl.col("forgetful") == "yes",
        )
        .select(EVIDENCE.names())
        .cast(EVIDENCE)
    )


def cells(name):
    """Its (parts, batch) pairs, in the order in which the sampler numbers them."""
    return evidence(name).select("parts", "batch").unique().sort("parts", "batch").rows()


def model(name):
    """The set as the sampler's model."""
    lives, order = evidence(name), cells(name)
    rows = {c: lives[c].fill_null(np.nan).to_numpy().astype(float) for c in NUMBERS}
    rows["forgetful"] = lives["forgetful"].to_numpy()
    rows["cell"] = np.array([order.index(pair) for pair in lives.select("parts", "batch").rows()])
    return Model(rows, [parts == "replaced" for parts, _ in order], PRIOR, LAWS.get(name))


def prior():
    """The sampler's prior in the package's words."""
    return Prior(**PRIOR)
