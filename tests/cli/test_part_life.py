"""fleet part life."""

import csv
import io

import pytest

KEYS = {
    "part", "air_c", "hours", "years", "years_by_rule", "capped", "temperature_factor",
    "ripple_factor", "voltage_factor",
}  # fmt: skip
DAY = ("--as-of", "2024-06-30")


@pytest.fixture
def with_part(club):
    done = club(
        "add", "offer", "KR-470", "--capacitance", "470uF", "--voltage", "25", "--temperature",
        "105", "--ripple-ma", "1000", "--rated-hours", "2000", "--entered-on", "2024-01-02",
    )  # fmt: skip
    assert done.code == 0, done.err
    return club


def test_a_part_of_the_offers_in_its_place(with_part):
    done = with_part(
        "part", "life", "KR-470", "--ambient", "65", "--ripple-ma", "500", "--volts", "12",
        "--hours-per-year", "4000", "--json", *DAY,
    )  # fmt: skip
    first, *others = done.rows()
    assert set(first) == KEYS
    # 2000 h x 16 x 1.29684 (the lower of two published forms: test_part_life of the rules)
    assert first["hours"] == pytest.approx(2000 * 16 * 1.29684, rel=1e-5)
    assert first["years_by_rule"] == pytest.approx(first["hours"] / 4000)
    assert first["capped"] is False
    assert [row["air_c"] for row in others] == [45, 55, 75, 85]
    assert "not a promise" in done.err


def test_told_facts_need_no_store(tmp_path, club):
    done = club(
        "part", "life", "--rated-hours", "5000", "--temperature", "105", "--ambient", "45",
        "--store", tmp_path / "none.duckdb", "--csv",
    )  # fmt: skip
    assert done.code == 0, done.err
    first = next(csv.DictReader(io.StringIO(done.out)))
    assert (float(first["hours"]), float(first["years"]), first["capped"]) == (320000, 15, "true")


def test_a_can_measured_on_its_top(with_part):
    options = ("--ripple-ma", "300:0.75", "--ripple-ma", "300", "--diameter", "10", "--json", *DAY)
    first = with_part("part", "life", "KR-470", "--can-top", "60", *options).rows()[0]
    # 500 of 1000 mA: the core runs 5 / 4 kelvin above the air, its top 1.25 / 1.1
    assert first["air_c"] == pytest.approx(60 - 1.25 / 1.1)


def test_what_a_position_asks_for(with_part):
    with_part(
        "add", "position", "C3", "--model", "BM-2", "--temperature", "85", "--rated-hours", "2000",
        "--entered-on", "2024-01-02",
    )  # fmt: skip
    asked = ("--model", "BM-2", "--position", "C3", "--ambient", "45", "--json")
    first = with_part("part", "life", *asked, *DAY).rows()[0]
    assert first["hours"] == 32_000


def test_the_screen_says_which_row_is_capped(with_part):
    done = with_part("part", "life", "KR-470", "--ambient", "40", "--hours-per-year", "500", *DAY)
    assert done.code == 0
    assert "15 (capped)" in done.out
    assert "nan" not in (done.out + done.err).lower()


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("KR-471", "--ambient", "45"), 1, "no part 'KR-471' in the offers"),
        (("KR-470",), 1, "give either the air"),
        (("KR-470", "--ambient", "45", "--can-top", "50"), 1, "give either the air"),
        (("KR-470", "--ambient", "110"), 1, "choose a part rated higher"),
        (("KR-470", "--ambient", "45", "--volts", "40"), 1, "rated for more"),
        (("KR-470", "--ambient", "45", "--ripple-ma", "much"), 2, "is no ripple current"),
        (("KR-470", "--can-top", "50"), 1, "diameter"),
        (("--ambient", "45"), 1, "name a part of the offers"),
        (("--rated-hours", "2000", "--ambient", "45"), 1, "temperature"),
        (("KR-470", "--ambient", "65", "--rated-hours", "1e308"), 1, "to 1,000,000 h are taken"),
        (
            ("KR-470", "--ambient", "65", "--ripple-ma", "500", "--rated-ripple-ma", "5"),
            1,
            "100 times what the part is rated for",
        ),
        (
            (
                "KR-470",
                "--can-top",
                "65",
                "--diameter",
                "10",
                "--ripple-ma",
                "500",
                "--rated-ripple-ma",
                "1e-320",
            ),
            1,
            "0.001 and more mA are taken",
        ),
        (("--position", "C3", "--ambient", "45"), 1, "of which model"),
        (("--position", "C99", "--model", "BM-2", "--ambient", "45"), 1, "no position C99"),
    ],
)
def test_what_cannot_be_is_one_sentence(with_part, words, code, said):
    done = with_part("part", "life", *words, *DAY)
    assert done.code == code
    assert said in done.err
    assert done.out == ""
