"""fleet curve."""

import csv
import io

import pytest

KEYS = {
    *("group", "age", "at_risk", "failures", "survival", "survival_low", "survival_high"),
    *("cumulative_hazard", "supported", "age_unit"),
}

# Entries tied with failures, worked by hand: at risk 4, 5, 3, 2, 1 of x = 2, 3, 4, 5, 6.
TIED = "entry,low,high\n0,2,2\n0,3,3\n1,3,3\n1,4,4\n2,5,5\n2,6,6\n"


def test_keys_and_groups(club):
    rows = club("curve", "--by", "model", "--json").rows()
    assert all(row.keys() >= KEYS for row in rows)
    assert {row["group"]["model"] for row in rows} == {"BM-2", "DH-5"}
    assert {row["age_unit"] for row in rows} == {"years"}


def test_group_of_all_is_empty(club):
    assert {str(row["group"]) for row in club("curve", "--json").rows()} == {"{}"}


def test_life_file_worked_by_hand(fleet, tmp_path):
    (tmp_path / "tied.csv").write_text(TIED)
    rows = fleet("curve", "--lives", tmp_path / "tied.csv", "--json").rows()
    failed = {row["age"]: row for row in rows if row["failures"]}
    assert [failed[age]["at_risk"] for age in (2.0, 3.0, 4.0, 5.0, 6.0)] == [4, 5, 3, 2, 1]
    assert failed[2.0]["survival"] == pytest.approx(0.75, rel=1e-12)
    assert failed[3.0]["survival"] == pytest.approx(0.45, rel=1e-12)
    assert {row["age_unit"] for row in rows} == {None}


def test_days_and_years_are_the_same_curve(club):
    years = club("curve", "--json").rows()
    days = club("curve", "--json", "--ages", "days").rows()
    assert [row["survival"] for row in days] == pytest.approx([row["survival"] for row in years])
    assert days[-1]["age"] / 365.25 == pytest.approx(years[-1]["age"])


def test_csv_has_groups_as_columns(club):
    rows = list(csv.DictReader(io.StringIO(club("curve", "--by", "model,parts", "--csv").out)))
    assert set(rows[0]) == (KEYS - {"group"}) | {"model", "parts"}


def test_median_is_said_in_words(club):
    done = club("curve", "--by", "model")
    assert done.code == 0
    assert "BM-2: half" in done.err
    assert "inf" not in done.out + done.err


def test_unknown_column_is_1_and_lists_the_columns(club):
    done = club("curve", "--by", "colour")
    assert done.code == 1
    assert "colour" in done.err
    assert "model" in done.err


def test_bad_life_file_is_1(fleet, tmp_path):
    (tmp_path / "bad.csv").write_text("entry,low,high\n5,3,2\n")
    for name in ("bad.csv", "missing.csv"):
        done = fleet("curve", "--lives", tmp_path / name)
        assert done.code == 1
        assert done.err.count("\n") == 1
