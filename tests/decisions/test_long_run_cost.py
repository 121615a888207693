import polars as pl
import pytest

from fleet.decisions import long_run_cost


def test_a_year_of_running_to_failure_and_of_the_advice(make):
    # published check value: shape 2.5, cost ratio 5, saving 38.57 % (computed from the formula of
    # Barlow and Hunter 1960)
    table = make.estimates({"shape": 2.5, "scale": 10 * make.year})
    row = long_run_cost(table, make.costs).row(0, named=True)
    assert row["optimal_age"] == pytest.approx(4.93047 * make.year, rel=1e-6)
    assert row["advised"] == pytest.approx(3.462043 * 40 / 10, rel=1e-6)
    assert row["run_to_failure"] == pytest.approx(5.635302 * 40 / 10, rel=1e-6)
    assert row["saving_share"] == pytest.approx(0.3857, abs=5e-5)


def test_no_wear_out_saves_nothing_and_unknowns_stay_unknown(make):
    table = make.estimates(
        {"shape": 1.0, "scale": 10 * make.year},
        {"batch": "B1", "exists": False, "shape": None, "scale": None},
        {"model": "DH9"},
    )
    found = long_run_cost(table, make.costs)
    assert found.row(0)[3:] == (None, pytest.approx(20.0), pytest.approx(20.0), pytest.approx(0.0))
    assert found.row(1)[3:] == (None,) * 4
    assert found.row(2)[3:] == (None,) * 4
    assert found.select("model", "batch").equals(table.select("model", "batch"))
    assert found.schema["advised"] == pl.Float64
