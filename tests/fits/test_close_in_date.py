"""Failures that crowd on the calendar, and those that do so only because they crowd in age."""

import numpy as np
import polars as pl
import pytest

from fleet.fits.suspects.close_in_date import DATED, close_in_date

YEAR = 365.25


def _failures(start, age, youngest=0.0, oldest=1e6):
    n = len(start)
    columns = {
        "start": np.asarray(start, float),
        "age": np.asarray(age, float),
        "youngest": np.full(n, youngest),
        "oldest": np.full(n, oldest),
    }
    return pl.DataFrame(columns, DATED).with_columns(batch=pl.lit("B"))


def _one(frame):
    return close_in_date(frame, ["batch"]).row(0, named=True)


def test_an_event_at_all_ages_is_seen():
    start = np.array([0.0, 1.3, 2.1, 3.4, 4.2, 5.9, 6.6, 8.0]) * YEAR
    date = 12.0 * YEAR + np.arange(8) * 9.0
    found = _one(_failures(start, date - start))
    assert found["dated"] == 8
    assert found["together"] == 8
    assert found["from_day"] == pytest.approx(12.0 * YEAR)
    assert found["p_value"] <= 0.002


def test_failures_at_one_age_are_no_event():
    start = np.array([0.0, 1.3, 2.1, 3.4, 4.2, 5.9, 6.6, 8.0]) * YEAR
    found = _one(_failures(start, np.full(8, 9.0 * YEAR)))
    assert found["together"] == 1
    assert found["p_value"] == 1.0


def test_machines_made_together_cannot_tell_age_from_date():
    found = _one(_failures(np.arange(6) * 10.0, np.full(6, 9.0 * YEAR)))
    assert found["p_value"] is None
    assert "made at about the same time" in found["reason"]


def test_few_failures_say_so():
    found = _one(_failures([0.0, YEAR], [YEAR, YEAR]))
    assert found["p_value"] is None
    assert "fewer than 4" in found["reason"]


def test_without_an_event_small_p_values_are_rare():
    """Machines of five build years, Weibull ages (shape 4), seen only from 8 to 14 years after the
    first was built: windows that by themselves bring dates together.
    """
    rng = np.random.default_rng(7)
    low = 0
    for _ in range(60):
        start = rng.uniform(0.0, 5.0, 4000)
        age = 10.0 * rng.weibull(4.0, 4000)
        seen = (start + age > 8.0) & (start + age < 11.0)
        start, age = start[seen][:12] * YEAR, age[seen][:12] * YEAR
        frame = _failures(start, age).with_columns(
            youngest=8.0 * YEAR - pl.col("start"), oldest=11.0 * YEAR - pl.col("start")
        )
        low += _one(frame)["p_value"] <= 0.1
    # At most 6 are expected; more than 13 would come up once in 500 (binomial).
    assert low <= 13
