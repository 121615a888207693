"""Many units that differ by heat, use and age: read off between places, or one by one."""

import importlib
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from fleet.decisions import due_by_draws
from fleet.decisions.between import NEAR, between

MODULE = importlib.import_module("fleet.decisions.unit_advice")
SHARES = pl.DataFrame({"model": ["BK3"], "prompt_share": [0.6]})
FACTS = {"mean_c": 22.0, "sd_c": 4.0, "mean_log_hours": 7.6, "sd_log_hours": 0.7}


@pytest.fixture
def advised(make, by_hand):
    """Best ages of 500 machines of one model, three in ten of which do not tell their heat."""
    rng = np.random.default_rng(8)
    draws = tuple(
        (shape, scale, rng.uniform(0.4, 1.1), rng.uniform(0.4, 0.9))
        for shape, scale in by_hand.invented(60, shape=(2.2, 4.5), scale=(11.0, 17.0))
    )
    cells, drawn = by_hand.frames(*by_hand.model(*draws, **FACTS))
    started = [make.as_of - timedelta(days=int(d)) for d in rng.uniform(300, 2200, 500)]
    heat = [None if rng.random() < 0.3 else float(c) for c in rng.uniform(14, 31, 500)]
    use = rng.uniform(400, 6000, 500)
    working = make.working(
        *(
            {"unit": f"R{n:03d}", "batch": "K1", "started": day, "ambient_c": warm,
             "hours_per_year": float(hours), "last_known_working": date(2026, 6, 20)}
            for n, (day, warm, hours) in enumerate(zip(started, heat, use, strict=True))
        )
    )  # fmt: skip

    def ask():
        frame = due_by_draws(working, cells, drawn, make.costs, SHARES, as_of=make.as_of)
        return frame.sort("unit")

    return ask


def test_many_units_read_off_get_the_ages_of_each_worked_out(advised, monkeypatch):
    placed = []

    def noted(coordinates):
        placed.append(between(coordinates))
        return placed[-1]

    monkeypatch.setattr(MODULE, "between", noted)
    got = advised()
    assert [p is not None for p in placed] == [True, True]  # told and blank heat
    monkeypatch.setattr(MODULE, "between", lambda _: None)
    exact = advised()
    assert exact["optimal_age"].n_unique() > 400
    np.testing.assert_allclose(got["optimal_age"], exact["optimal_age"], rtol=2 * NEAR)
    chances = ["unit", "p_fail", "p_fail_low", "p_fail_high", "p_failed_unseen"]
    assert got.select(chances).equals(exact.select(chances))
