"""fleet expect."""

import csv
import io
import json

import pytest

CUT = "2024-06-30"
KEYS = {"model", "quarter_from", "quarter_to", "units", "already_failed", "expected", "low", "high"}


def test_keys_a_row_for_each_model_and_quarter(club):
    done = club("expect", "--as-of", CUT, "--json")
    rows = done.rows()
    assert all(set(row) == KEYS for row in rows)
    assert {row["model"] for row in rows} == {"BM-2", "DH-5"}
    assert len(rows) == 16
    assert (rows[0]["quarter_from"], rows[0]["quarter_to"]) == ("2024-07-01", "2024-09-30")
    for row in rows:
        assert 0 <= row["low"] <= row["high"] <= row["units"]
        assert 0 < row["expected"] < row["units"]
        assert row["low"] == int(row["low"])
    assert "In all models together" in done.err
    assert "A machine counts once" in done.err


def test_quarters_add_up_to_the_models(club):
    each = club("expect", "--as-of", CUT, "--quarters", "5", "--json").rows()
    models = club("expect", "--as-of", CUT, "--quarters", "5", "--by", "model", "--json").rows()
    quarters = club("expect", "--as-of", CUT, "--quarters", "5", "--by", "quarter", "--json").rows()
    assert [row["model"] for row in models] == [None, "BM-2", "DH-5"]
    assert [row["model"] for row in quarters] == [None] * 5
    for row in models:
        of = [e["expected"] for e in each if row["model"] in (None, e["model"])]
        assert row["expected"] == pytest.approx(sum(of), rel=1e-4)
    assert models[0]["expected"] == pytest.approx(sum(q["expected"] for q in quarters), rel=1e-4)


def test_new_parts_that_fail_again_add_a_little(club):
    once = club("expect", "--as-of", CUT, "--quarters", "12", "--by", "model", "--json").rows()
    done = club("expect", "--as-of", CUT, "--quarters", "12", "--by", "model", "--again", "--json")
    for a, b in zip(once, done.rows(), strict=True):
        assert a["expected"] < b["expected"] < 1.5 * a["expected"]
    assert "fail again (once)" in done.err


def test_a_day_within_a_quarter_has_a_part_of_it_first(club):
    rows = club("expect", "--as-of", "2024-05-10", "--quarters", "2", "--csv").out
    first, second = list(csv.DictReader(io.StringIO(rows)))[:2]
    assert (first["quarter_from"], first["quarter_to"]) == ("2024-05-11", "2024-06-30")
    assert second["quarter_from"] == "2024-07-01"


def test_the_screen_names_the_limits(club):
    done = club("expect", "--as-of", CUT, "--by", "model", "--level", "0.8")
    assert done.code == 0
    assert "80 % limits" in done.out
    assert "all models" in done.out
    assert "nan" not in (done.out + done.err).lower()


def test_nothing_to_count_is_done_and_said(fleet):
    fleet("new")
    done = fleet("expect", "--as-of", CUT, "--json")
    assert (done.code, json.loads(done.out)) == (0, [])


def test_wrong_usage(club):
    assert club("expect", "--quarters", "0").code == 2
    assert club("expect", "--by", "week").code == 2
    assert club("expect", "--level", "2").code == 2
