"""fleet lives."""

import io

import polars as pl
import pytest

from fleet.ages import DAYS_PER_YEAR
from fleet.frames import LIFE

KEYS = {
    *LIFE.names(),
    *("unit", "model", "batch", "set_no", "parts", "position", "source", "end", "reports"),
    "age_unit",
}


def test_keys_and_one_life_worked_by_hand(club):
    rows = club("lives", "--json").rows()
    assert all(row.keys() >= KEYS for row in rows)
    assert len(rows) == 30
    (life,) = [row for row in rows if row["unit"] == "TL-020"]
    # Made 1999-05-01, joined 2010-02-01, last seen working 2024-06-30.
    assert life["entry"] == pytest.approx(3929 / DAYS_PER_YEAR, rel=1e-12)
    assert life["low"] == pytest.approx(9192 / DAYS_PER_YEAR, rel=1e-12)
    assert life["high"] is None
    assert life["end"] == "working"
    assert life["age_unit"] == "years"
    assert len(life["reports"]) == 1


def test_days_are_whole(club):
    rows = club("lives", "--json", "--ages", "days").rows()
    (life,) = [row for row in rows if row["unit"] == "TL-020"]
    assert (life["entry"], life["low"], life["age_unit"]) == (3929.0, 9192.0, "days")


def test_csv_has_the_same_columns(club):
    frame = pl.read_csv(io.StringIO(club("lives", "--csv").out))
    assert set(frame.columns) == set(club("lives", "--json").rows()[0])
    assert frame.height == 30


def test_as_of_sees_only_what_was_known(club):
    early = club("lives", "--as-of", "2013-12-31", "--json").rows()
    late = club("lives", "--as-of", "2024-06-30", "--json").rows()
    failed = [sum(row["end"] == "failed" for row in rows) for rows in (early, late)]
    # Failures fall in 2012 + n % 9 for n = 1..14: n = 1 and 10 by the end of 2013, and n = 9.
    assert failed == [3, 14]


def test_screen_lists_every_unit(club):
    lines = club("lives").out.splitlines()
    assert len(lines) == 32
    assert "TL-020" in "".join(lines)


def test_by_position(club):
    club("add", "position", "C3", "--model", "BM-2")
    club("add", "position", "C4", "--model", "BM-2")
    rows = club("lives", "--by", "position", "--json").rows()
    assert {row["position"] for row in rows if row["model"] == "BM-2"} == {"C3", "C4"}
    assert club("lives", "--by", "colour").code == 2


def test_empty_store_is_done(fleet):
    fleet("new")
    done = fleet("lives")
    assert (done.code, done.out) == (0, "")
    assert "No life can be read yet." in done.err
    assert fleet("lives", "--json").rows() == []
