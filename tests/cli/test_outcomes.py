"""fleet outcomes."""

import csv
import io

import pytest

CUT = "2024-12-31"
KEYS = {
    "model", "jobs", "cured", "success", "success_low", "success_high", "kind", "recaps",
    "unknown", "not_cured", "failed_early", "no_after_reading", "after_fails", "swaps",
    "early_watched", "early_failed", "early_expected", "early_chance",
}  # fmt: skip


@pytest.fixture
def jobs(club):
    """The club with three recaps of known outcome, as if entered then."""
    rows = [
        ("TL-015", "yes", "C3,stage=before,esr_ohm=4,limit_used=0.5ohm"),
        ("TL-016", "no", "C3,stage=after,esr_ohm=0.6,limit_used=0.5ohm"),
        ("TL-017", "yes", "C3 before 3ohm after 0.2ohm limit_used=0.5ohm"),
    ]
    for unit, cured, reading in rows:
        done = club(
            *("log", "recapped", unit, "--on", "2024-07-15", "--cured", cured),
            *("--positions", "all"),
            *("--reading", reading),
        )
        assert done.code == 0, done.err
    return club


def test_a_row_a_model(jobs):
    done = jobs("outcomes", "--json")
    (row,) = done.rows()
    assert set(row) == KEYS
    assert (row["model"], row["jobs"], row["cured"], row["not_cured"]) == ("BM-2", 3, 2, 1)
    assert 0 < row["success_low"] < row["success"] < row["success_high"] < 1
    assert "2 of 3 recaps of known outcome succeeded" in done.err


def test_a_row_a_job(jobs):
    rows = jobs("outcomes", "--by", "job", "--json").rows()
    told = {row["unit"]: (row["cured"], row["after"], row["failed_early"]) for row in rows}
    assert told == {
        "TL-015": ("yes", "none", False),
        "TL-016": ("no", "fails", False),
        "TL-017": ("yes", "passes", False),
    }


def test_a_row_a_position_as_csv(jobs):
    text = jobs("outcomes", "--by", "position", "--csv").out
    rows = {row["unit"]: row for row in csv.DictReader(io.StringIO(text))}
    assert (rows["TL-017"]["esr_ohm_before"], rows["TL-017"]["esr_ohm_after"]) == ("3.0", "0.2")
    assert rows["TL-017"]["after"] == "passes"
    assert rows["TL-015"]["verdict_before"] == "bad"


@pytest.mark.parametrize("by", ["model", "job", "position"])
def test_screens_have_no_nan_and_say_what_counts(jobs, by):
    done = jobs("outcomes", "--by", by, "--early-months", "12")
    assert done.code == 0, done.err
    assert "within 12 months" in done.err
    assert "nan" not in (done.out + done.err).lower().replace("maintenance", "")


def test_the_logged_outcome_counts_for_the_due_list_too(jobs):
    due = {row["unit"] for row in jobs("due", "--json").rows()}
    assert "TL-017" in due
    assert "TL-016" not in due


def test_nothing_to_list(club):
    done = club("outcomes", "--as-of", CUT)
    assert done.code == 0
    assert done.err.startswith("No recap was known on 2024-12-31.")
    assert club("outcomes", "--by", "position").err.startswith("No reading before or after")


def test_wrong_usage(club):
    assert club("outcomes", "--by", "person").code == 2
    assert club("outcomes", "--early-months", "0").code == 2
