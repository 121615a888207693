"""Hand-made cells and draws, and units to judge by them."""

from types import SimpleNamespace

import numpy as np
import polars as pl
import pytest

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import Units
from fleet.frames import CELLS, DRAWS

YEAR = 365.25


def cell(*draws, model="BK3", parts="original", batch=None, **facts):
    """One cell; draws are (shape, scale in years[, heat, calendar])."""
    usual = {
        "kind": None, "lives": 100.0, "failures": 20.0, "oldest_age": 25 * YEAR, "borrowed": False,
        "usual_c": 25.0, "usual_hours": 2000.0, "mean_c": None, "sd_c": 0.0,
        "mean_log_hours": None, "sd_log_hours": 0.0,
    }  # fmt: skip
    return {
        "model": model,
        "parts": parts,
        "batch": batch,
        "to_come": batch is None,
        **usual,
        **facts,
    }, draws


def model(*draws, batches=("K1",), **facts):
    """Cells of a model whose batches and unknown parts all have the same draws."""
    known = [cell(*draws, batch=batch, **facts) for batch in batches]
    return [*known, cell(*draws, **facts), cell(*draws, parts="replaced", **facts)]


def frames(*cells, weight=None):
    """frames.CELLS and frames.DRAWS."""
    facts = [{"cell": n, **one} for n, (one, _) in enumerate(cells)]
    rows = []
    for n, (_, draws) in enumerate(cells):
        share = weight or [1.0 / len(draws)] * len(draws)
        for number, one in enumerate(draws):
            shape, scale, heat, calendar = (*one, 0.0, 1.0)[:4] if len(one) == 2 else one
            rows.append(
                (n, number, share[number], float(shape), scale * YEAR, scale * YEAR, 0.2,
                 float(heat), float(calendar))
            )  # fmt: skip
    table = pl.DataFrame([{name: one[name] for name in CELLS} for one in facts], schema=CELLS)
    return table, pl.DataFrame(rows, schema=DRAWS, orient="row")


def lives(*cells, weight=None):
    """The same as arrays."""
    return DrawnLives.of(*frames(*cells, weight=weight))


def units(count=1, **fields):
    """Units to forecast; ages in years, the same for all but for arrays."""
    usual = {
        "cell": 0, "youngest": 10.0, "oldest": None, "silent": 0.0, "ambient_c": np.nan,
        "hours": np.nan, "old_cell": -1, "old_age": np.nan, "own_unknown": False,
        "prompt_share": 0.5,
    }  # fmt: skip
    told = {**usual, **fields}
    told["oldest"] = told["youngest"] if told["oldest"] is None else told["oldest"]
    for name in ("youngest", "oldest", "silent", "old_age"):
        told[name] = np.asarray(told[name], float) * YEAR
    return Units(**{name: np.broadcast_to(told[name], (count,)).copy() for name in told})


def invented(count, *, seed=1, shape=(1.2, 5.0), scale=(9.0, 25.0)):
    """Draws spread over shapes and scales."""
    rng = np.random.default_rng(seed)
    return tuple(zip(rng.uniform(*shape, count), rng.uniform(*scale, count), strict=True))


@pytest.fixture(scope="session")
def by_hand():
    """The builders of this file, as one object."""
    return SimpleNamespace(
        year=YEAR, cell=cell, model=model, frames=frames, lives=lives, units=units,
        invented=invented,
    )  # fmt: skip
