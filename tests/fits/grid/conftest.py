"""Small tables of evidence, and the likelihood of one row worked out by the book."""

import math
from types import SimpleNamespace

import numpy as np
import polars as pl
import pytest

from fleet.fits import Prior
from fleet.fits.grid.evidence import evidence_of
from fleet.frames import EVIDENCE

# Fixed here, so that no test depends on the package's own numbers.
PRIOR = Prior(
    no_wear_out_share=0.15,
    no_wear_out_shape=(1.1, 0.25),
    wear_out_shape=(3.5, 0.35),
    scale_years=(15.0, 0.5),
    spread=0.3,
    renewed_sd=0.4,
    heat=(1.0, 0.4),
    idle_share=0.2,
)
BLANK = {
    "entry": 0.0,
    "high": None,
    "known_by": None,
    "count": 1.0,
    "model": "BK3",
    "kind": None,
    "parts": "original",
    "batch": "K1",
    "ambient_c": None,
    "hours_per_year": None,
    "other_low": None,
    "other_chance": None,
    "forgetful": False,
}


def lives(*rows, **common):
    """Evidence from rows that say what is not usual of them."""
    full = [{**BLANK, **common, **row} for row in rows]
    return pl.DataFrame([{c: row[c] for c in EVIDENCE} for row in full], schema=EVIDENCE)


def evidence(*rows, origin=1.0, year=1.0, cells=None, cell=None, **common):
    """Arrays of evidence; every row in cell 0 unless `cell` says otherwise."""
    frame = lives(*rows, **common).with_columns(
        cell=pl.Series(cell if cell is not None else [0] * len(rows), dtype=pl.Int64)
    )
    return evidence_of(frame, cells=cells or 1 + max(frame["cell"]), origin=origin, year=year)


def survival(age, shape, scale):
    return math.exp(-((age / scale) ** shape))


def ends(row, shape, scale):
    """Chance, or density, from new of what became of one set, without any shortcut."""
    row = {**BLANK, **row}
    low, high = row["low"], row["high"]
    lived = survival(low, shape, scale)
    if high is None:
        own = lived
    elif high == low:
        own = shape / scale * (low / scale) ** (shape - 1.0) * lived
    else:
        own = lived - survival(high, shape, scale)
    if row["other_low"] is not None:
        own += row["other_chance"] * survival(row["other_low"], shape, scale)
    return own


def known(row, shape, scale):
    """Chance from new that one set comes to be known at all."""
    row = {**BLANK, **row}
    beyond = 0.0 if row["known_by"] is None else survival(row["known_by"], shape, scale)
    return survival(row["entry"], shape, scale) - beyond


def log_row(row, shape, scale):
    """Log-likelihood of one row of count 1."""
    return math.log(ends(row, shape, scale) / known(row, shape, scale))


def alive_and_failed(
    count, *, shape, scale, seed, failures=None, model="BK3", batch="K1", **common
):
    """Invented lives of one batch, in years, watched to ages of their own.

    `failures`: so many of them at the most.
    """
    rng = np.random.default_rng(seed)
    rows, failed = [], 0
    while len(rows) < count:
        age, end = scale * rng.weibull(shape), rng.uniform(0.3, 1.3) * scale
        hit = age <= end
        if hit and failed == failures:
            continue  # as many as were asked for have failed: only those still good are added
        failed += hit
        seen = min(age, end)
        rows.append({"low": seen, "high": seen if hit else None, "model": model, "batch": batch})
    return lives(*rows, **common)


@pytest.fixture(scope="session")
def small():
    """The builders of this file, as one object."""
    return SimpleNamespace(
        lives=lives,
        evidence=evidence,
        ends=ends,
        known=known,
        log_row=log_row,
        invented=alive_and_failed,
        prior=PRIOR,
    )
