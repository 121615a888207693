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
    assert "BM-2: of those that reached age 1.75, half" in done.err
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


def test_repeated_failures_of_a_file(fleet, tmp_path):
    # three machines to 4, 3, 3; one failure at 1, two at 2 of one machine: 1/3 and 1
    (tmp_path / "m.csv").write_text(
        "entry,low,high,unit\n0,1,1,a\n0,4,,a\n0,2,2,b\n0,2,2,b\n0,3,,b\n0,3,,c\n"
    )
    done = fleet("curve", "--lives", tmp_path / "m.csv", "--repeated", "unit", "--json")
    rows = done.rows()
    assert rows[0].keys() >= {
        *("group", "age", "at_risk", "failures", "mean_failures", "mean_failures_low"),
        *("mean_failures_high", "age_unit"),
    }
    assert [row["mean_failures"] for row in rows] == pytest.approx([0.0, 1 / 3, 1.0])
    assert "Too few to say" in done.err


def test_repeated_failures_of_the_store(club):
    done = club("curve", "--repeated", "unit", "--by", "model", "--json")
    assert {row["group"]["model"] for row in done.rows()} == {"BM-2", "DH-5"}
    assert club("curve", "--repeated", "machine").code == 1


def test_notes_name_the_unit_of_age(fleet, club, tmp_path):
    assert "years" in club("curve", "--by", "model").err
    rows = ["0,2,2"] + [f"3,{5 + i},{5 + i if i % 2 else ''}" for i in range(8)]
    (tmp_path / "late.csv").write_text("\n".join(["entry,low,high", *rows]))
    said = fleet("curve", "--lives", tmp_path / "late.csv").err
    assert "falls to 0 at age 2, where" in said
