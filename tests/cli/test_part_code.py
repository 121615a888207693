"""fleet part code."""

import pytest

KEYS = {"code", "scheme", "usual", "earliest", "latest", "age_low", "age_high", "fits"}
DAY = ("--as-of", "2024-06-30")


def test_every_reading_with_its_scheme(club):
    rows = club("part", "code", "R3", "--json", *DAY).rows()
    assert all(set(row) == KEYS for row in rows)
    assert [row["earliest"] for row in rows] == ["1983-03-01", "2003-03-01", "2023-03-01"]
    assert {row["fits"] for row in rows} == {None}


def test_a_model_narrows_it(club):
    done = club("part", "code", "R3", "--model", "BM-2", "--json", *DAY)  # made 1998 to 2012
    assert [row["fits"] for row in done.rows()] == ["too early", "factory part", "later repair"]
    assert "BM-2 was made from 1998 to 2012" in done.err


def test_a_model_is_known_by_its_other_name(club):
    done = club("part", "code", "0443", "--model", "BM2", "--json", *DAY)
    assert done.rows()[-1]["fits"] == "factory part"


def test_a_part_may_be_somewhat_older_than_its_machine(club):
    done = club("part", "code", "9644", "--model", "BM-2", "--json", *DAY)
    assert [row["fits"] for row in done.rows()] == ["factory part"]
    done = club("part", "code", "9544", "--model", "BM-2", "--json", *DAY)
    assert [row["fits"] for row in done.rows()] == ["too early"]
    assert "No usual reading fits a factory part" in done.err


def test_without_a_model_its_shelf_age_is_said(club, tmp_path):
    done = club("part", "code", "2241", "--store", tmp_path / "none.duckdb", *DAY)
    assert done.code == 0, done.err
    assert "year and week" in done.out
    assert "If it has lain unused since then" in done.err
    assert "no treatment needed" in done.err
    old = club("part", "code", "1541", "--voltage", "400", *DAY)
    assert "At 400 V this can kill" in old.err
    assert "30 to 60 minutes" in old.err
    assert "motor or a switching supply" in old.err
    older = club("part", "code", "0804", "--voltage", "400", *DAY)  # left, not reformed
    assert "too old to fit" in older.err
    assert "30 to 60 minutes" not in older.err
    low = club("part", "code", "1541", "--voltage", "16", *DAY)
    assert "kill" not in low.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("9861",), "61 is no week"),
        (("R3", "--not-a-capacitor"), "read off capacitors only"),
        (("0443", "--model", "BX-1"), "there is no model 'BX-1' in the store; it has BM-2, DH-5"),
        (("2535",), "no reading of 2535 lies by 2024-06-30"),
    ],
)
def test_what_cannot_be_is_one_sentence(club, words, said):
    done = club("part", "code", *words, *DAY)
    assert done.code == 1
    assert said in done.err
    assert done.out == ""
