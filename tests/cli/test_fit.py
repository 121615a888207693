"""fleet fit."""

import csv
import io
import json
from math import log
from pathlib import Path

import polars as pl
import pytest

KEYS = {
    *("group", "lives", "failures", "exists", "reason", "shape", "shape_low", "shape_high"),
    *("scale", "scale_low", "scale_high", "b10", "b10_low", "b10_high", "log_likelihood"),
    "age_unit",
}
REFERENCE = Path(__file__).resolve().parents[3] / "shared" / "reference"

# Design's check: intervals (1,10), (10,100), (100,1000) have scale 73.3931, shape 0.653056 and
# log-likelihood -3.715218.
INTERVALS = "entry,low,high\n0,1,10\n0,10,100\n0,100,1000\n"


def test_keys_and_groups(club):
    rows = club("fit", "--by", "model,batch", "--json").rows()
    assert all(row.keys() >= KEYS for row in rows)
    assert all(set(row["group"]) == {"model", "batch"} for row in rows)


def test_interval_file_against_published_values(fleet, tmp_path):
    (tmp_path / "lives.csv").write_text(INTERVALS)
    (row,) = fleet("fit", "--lives", tmp_path / "lives.csv", "--json").rows()
    assert row["group"] == {}
    assert row["exists"] is True
    assert row["scale"] == pytest.approx(73.3931, rel=1e-5)
    assert row["shape"] == pytest.approx(0.653056, rel=1e-5)
    assert row["log_likelihood"] == pytest.approx(-3.715218, abs=1e-6)
    assert row["age_unit"] is None


def test_no_failure_has_no_estimate_but_a_bound_and_exits_0(fleet, tmp_path):
    (tmp_path / "lives.csv").write_text("low,high,count\n10,,20\n")
    (row,) = fleet("fit", "--lives", tmp_path / "lives.csv", "--json").rows()
    assert row["exists"] is False
    assert row["shape"] is None
    assert row["reason"]
    assert fleet("fit", "--lives", tmp_path / "lives.csv").code == 0


def test_days_and_years_are_the_same_fit(club):
    years = club("fit", "--by", "model", "--json").rows()
    days = club("fit", "--by", "model", "--json", "--ages", "days").rows()
    for a_year, a_day in zip(years, days, strict=True):
        if not a_year["exists"]:
            continue
        assert a_day["shape"] == pytest.approx(a_year["shape"], rel=1e-6)
        assert a_day["scale"] == pytest.approx(365.25 * a_year["scale"], rel=1e-6)
    assert any(row["exists"] for row in years)


def test_log_likelihood_refers_to_the_unit_printed(fleet, tmp_path):
    # Three exact failures: a density per day is 365.25 times smaller than one per year.
    days = pl.DataFrame({"low": [3000.0, 4000.0, 5500.0], "high": [3000.0, 4000.0, 5500.0]})
    days.write_csv(tmp_path / "days.csv")
    (days / 365.25).write_csv(tmp_path / "years.csv")
    (one,) = fleet("fit", "--lives", tmp_path / "days.csv", "--json").rows()
    (other,) = fleet("fit", "--lives", tmp_path / "years.csv", "--json").rows()
    moved = one["log_likelihood"] + 3 * log(365.25)
    assert other["log_likelihood"] == pytest.approx(moved, abs=1e-6)


def test_csv_has_groups_as_columns(club):
    rows = list(csv.DictReader(io.StringIO(club("fit", "--by", "model", "--csv").out)))
    assert set(rows[0]) == (KEYS - {"group"}) | {"model"}


def test_screen_never_says_inf_or_nan(club):
    done = club("fit", "--by", "model,batch")
    assert done.code == 0
    words = (done.out + done.err).lower().split()
    assert not {"inf", "nan", "none", "null"} & set(words)


@pytest.mark.shared
@pytest.mark.skipif(not REFERENCE.exists(), reason="the reference data are not beside the checkout")
@pytest.mark.parametrize("level", ["0.95", "0.9"])
def test_level_narrows_the_limits(fleet, level):
    (row,) = fleet("fit", "--lives", REFERENCE / "genfan.csv", "--level", level, "--json").rows()
    (wide,) = fleet("fit", "--lives", REFERENCE / "genfan.csv", "--level", "0.99", "--json").rows()
    assert wide["shape_low"] < row["shape_low"] < row["shape"] < row["shape_high"]
    assert row["shape_high"] < wide["shape_high"]


def test_json_is_valid_without_constants(club):
    json.loads(club("fit", "--json").out, parse_constant=lambda name: pytest.fail(name))


def test_chances_to_reach_an_age(fleet, tmp_path):
    # NIST/SEMATECH e-Handbook 8.2.2.1: 10 failures and 10 good at 500 h
    hours = (54, 187, 216, 240, 244, 335, 361, 373, 375, 386)
    body = "low,high,count\n" + "".join(f"{h},{h},1\n" for h in hours) + "500,,10\n"
    (tmp_path / "lives.csv").write_text(body)
    said = fleet("fit", "--lives", tmp_path / "lives.csv", "--reach", "300", "--within", "100")
    assert "of 100 sets" in said.err
    (row,) = fleet(
        *("fit", "--lives", tmp_path / "lives.csv", "--reach", "300", "--within", "100", "--json")
    ).rows()
    shape, scale = 1.720797, 606.5276  # the maximum for these hours (R survival)
    good = 2.718281828459045 ** -((300 / scale) ** shape)
    assert row["good"] == pytest.approx(good, rel=1e-5)
    assert row["good_low"] < good < row["good_high"]
    later = 2.718281828459045 ** -((400 / scale) ** shape)
    assert row["fails"] == pytest.approx(1 - later / good, rel=1e-5)
    assert (row["reach"], row["within"]) == (300, 100)


@pytest.mark.parametrize("words", [("--within", "2"), ("--check", "--reach", "3")])
def test_reach_and_within_go_together(fleet, tmp_path, words):
    (tmp_path / "lives.csv").write_text(INTERVALS)
    assert fleet("fit", "--lives", tmp_path / "lives.csv", *words).code == 2
