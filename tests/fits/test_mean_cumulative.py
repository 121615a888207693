"""Mean number of failures of machines that go on."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.errors import BadFrame
from fleet.fits.mean_cumulative import MEAN_FAILURES, PACE, mean_cumulative
from fleet.frames import LIFE


def table(units):
    """Rows of units given as (entry, end, failure ages)."""
    rows = []
    for name, (entry, end, ages) in enumerate(units):
        rows += [(entry, a, a, None, 1.0, str(name)) for a in ages]
        rows.append((entry, end, None, None, 1.0, str(name)))
    return pl.DataFrame(rows, schema={**LIFE, "unit": pl.String}, orient="row")


def by_definition(units, age):
    """Mean and robust variance at one age, unit by unit."""
    times = sorted({a for _, _, ages in units for a in ages if a <= age})
    mean, influence = 0.0, np.zeros(len(units))
    for t in times:
        at_risk = np.array([entry < t <= end for entry, end, _ in units], dtype=float)
        own = np.array([ages.count(t) for _, _, ages in units], dtype=float)
        n = at_risk.sum()
        mean += own.sum() / n
        influence += at_risk * (own - own.sum() / n) / n
    return mean, float(influence @ influence)


@st.composite
def machines(draw):
    units = []
    for _ in range(draw(st.integers(1, 6))):
        entry = float(draw(st.integers(0, 5)))
        end = entry + draw(st.integers(1, 9))
        ages = st.integers(int(entry) + 1, int(end)).map(float)
        units.append((entry, end, draw(st.lists(ages, max_size=4))))
    return units


def test_by_hand():
    # three machines watched from new to 4, 3, 3; failures at 1 (of 3) and twice at 2 by one
    points = mean_cumulative(
        table([(0.0, 4.0, [1.0]), (0.0, 3.0, [2.0, 2.0]), (0.0, 3.0, [])]), unit="unit"
    ).points
    assert points["age"].to_list() == [0.0, 1.0, 2.0]
    assert points["at_risk"].to_list() == [3.0, 3.0, 3.0]
    assert points["failures"].to_list() == [0.0, 1.0, 2.0]
    assert points["mean_failures"].to_list() == pytest.approx([0.0, 1 / 3, 1.0])
    # influences at 2: (0, 1, -1) / 3 each: 1/3 (1 - 1), 1/3 (2 - 1), 1/3 (0 - 1)
    assert points["standard_error"][-1] == pytest.approx((2 / 9) ** 0.5)


@given(machines())
def test_against_the_definition(units):
    points = mean_cumulative(table(units), unit="unit").points
    assert points.schema == MEAN_FAILURES
    for row in points.iter_rows(named=True):
        mean, variance = by_definition(units, row["age"])
        assert row["mean_failures"] == pytest.approx(mean, abs=1e-12)
        assert row["standard_error"] ** 2 == pytest.approx(variance, abs=1e-10)


@given(machines(), machines())
def test_a_group_alone_or_beside_another(one, other):
    both = pl.concat(
        [
            table(one).with_columns(g=pl.lit("a")),
            table(other).with_columns(g=pl.lit("b")),
        ]
    )
    told = mean_cumulative(both, unit="unit", by=["g"])
    for name, units in (("a", one), ("b", other)):
        own = mean_cumulative(table(units), unit="unit")
        mine = told.points.filter(pl.col("g") == name).drop("g")
        for column in MEAN_FAILURES.names():
            got, want = mine[column].to_numpy(), own.points[column].to_numpy()
            assert got == pytest.approx(want, abs=1e-9, nan_ok=True)
        assert told.pace.filter(pl.col("g") == name).select("units", "failures").rows() == (
            own.pace.select("units", "failures").rows()
        )


@given(machines())
def test_pace_against_the_definition(units):
    """Influences at the middle and at the last age, unit by unit."""
    pace = mean_cumulative(table(units), unit="unit").pace.row(0, named=True)
    if pace["p_value"] is None:
        return
    half = pace["last"] - pace["middle"]
    before, _ = by_definition(units, pace["middle"])
    upto, _ = by_definition(units, pace["last"])
    assert pace["rate_before"] == pytest.approx(before / half)
    assert pace["rate_after"] == pytest.approx((upto - before) / half, abs=1e-12)
    assert 0.0 <= pace["p_value"] <= 1.0


def test_failures_that_come_faster_with_age_are_seen():
    rng = np.random.default_rng(5)
    ages = [np.sort(10.0 * rng.random(rng.poisson(3.0)) ** 0.5) for _ in range(200)]
    growing = mean_cumulative(table([(0.0, 10.0, a.tolist()) for a in ages]), unit="unit").pace
    assert growing["p_value"][0] < 1e-6
    assert growing["rate_after"][0] > 2.0 * growing["rate_before"][0]


def test_no_rows_and_no_failures():
    assert mean_cumulative(table([]), unit="unit").points.is_empty()
    quiet = mean_cumulative(table([(0.0, 3.0, []), (1.0, 4.0, [])]), unit="unit")
    assert quiet.points["mean_failures"].to_list() == [0.0]
    assert quiet.pace.schema == PACE
    assert quiet.pace["p_value"][0] is None


def test_a_failure_without_an_age_is_refused(make_lives):
    for row, words in (((0.0, 1.0, 2.0), "interval"), ((0.0, 1.0, 1.0, 3.0), "known_by")):
        with pytest.raises(BadFrame, match=words):
            mean_cumulative(make_lives([row]).with_columns(unit=pl.lit("a")), unit="unit")


def test_valve_seats(reference):
    """41 engines: Nelson 1995; values computed from the published ages (see expected.json)."""
    lives, _ = reference.lives("valveSeat")
    points = mean_cumulative(lives, unit="id").points
    for want in reference.expected["valveSeat"]["mcf"]:
        got = points.filter(pl.col("age") <= want["age"]).row(-1, named=True)
        assert got["mean_failures"] == pytest.approx(want["mcf"], abs=1e-10)
        assert got["standard_error"] == pytest.approx(want["se_robust"], abs=1e-9)
        for ours, theirs in (("mean_failures_low", "lo_log"), ("mean_failures_high", "hi_log")):
            assert got[ours] == (want[theirs] and pytest.approx(want[theirs], abs=1e-9))
