"""Shelf age and reforming: what a maker's storage notes say, worked on dates by hand."""

from datetime import date

import polars as pl
import pytest

from fleet.capacitors.reforming import reforming_steps
from fleet.capacitors.shelf import fresh_small_parts, shelf_advice

DAY = date(2026, 6, 30)


# No treatment needed within two years: a maker's note. About five years without: a weak secondary
# source, so only what is still to be bought is left for it.
@pytest.mark.parametrize(
    ("code", "held", "verdict"),
    [
        ("2549", "offer", "fine"),  # week 49 of 2025
        ("2549", "stock", "fine"),
        ("2241", "stock", "reform"),  # week 41 of 2022, 3.7 years
        ("2241", "offer", "reform"),
        ("1938", "stock", "reform"),  # 6.8 years
        ("1938", "offer", "leave"),
        ("0938", "stock", "leave"),  # 16.8 years: beyond what makers claim any part to last
    ],
)
def test_verdict_by_age(code, held, verdict):
    got = shelf_advice(code, DAY, held=held)
    assert got.verdict == verdict
    assert got.certain


@pytest.mark.parametrize(
    ("code", "verdict"), [("2549", "fine"), ("2241", "leave"), (None, "leave"), ("0938", "leave")]
)
def test_stock_to_be_reformed_is_left_where_a_fresh_small_one_is_on_offer(code, verdict):
    got = shelf_advice(code, DAY, fresh_on_offer=True)
    assert got.verdict == verdict
    assert ("buy fresh" in got.sentence) == (verdict == "leave")


def test_small_parts_on_offer_fresh():
    offers = pl.DataFrame(
        {
            "part": ["SMALL", "OLD", "HIGH", "SNAP", "PRICELESS", "UNTOLD"],
            "voltage": [25.0, 25.0, 400.0, 63.0, 25.0, 25.0],
            "lead_form": ["radial", None, "radial", "snap-in", "radial", "radial"],
            "price": [0.4, 0.4, 2.0, 2.0, None, 0.4],
            "date_code": ["2549", "1722", "2549", "2549", "2549", None],
        }
    )
    assert fresh_small_parts(offers, DAY) == {"SMALL"}


def test_age_is_reckoned_from_the_earliest_day_the_code_can_mean():
    got = shelf_advice("2241", DAY)
    # week 41 of 2022 and a week on each side: 1 October to 21 October, 1,368 and 1,348 days ago
    assert (got.oldest, got.youngest) == pytest.approx((1368 / 365.25, 1348 / 365.25))


def test_the_oldest_reading_decides_and_doubt_is_said():
    got = shelf_advice("U6", DAY)  # June 1986, 2006 or 2026
    assert (got.verdict, got.certain) == ("leave", False)
    assert got.youngest == pytest.approx(0.0, abs=0.01)
    assert got.oldest == pytest.approx(40.1, abs=0.05)
    assert "ask which it is" in got.sentence
    narrowed = shelf_advice("U6", DAY, not_before=date(2010, 1, 1))
    assert (narrowed.verdict, narrowed.certain) == ("fine", True)


def test_a_less_usual_reading_does_not_age_a_part():
    got = shelf_advice("2514", DAY)  # week 14 of 2025; the other way round week 25 of 2014
    assert got.oldest < 1.4


@pytest.mark.parametrize(
    ("code", "said"), [(None, "no date code"), (" ", "no date"), ("2561", "61")]
)
def test_age_unknown_is_treated_as_old(code, said):
    got = shelf_advice(code, DAY)
    assert (got.oldest, got.youngest, got.verdict, got.certain) == (None, None, "reform", False)
    assert said in got.sentence.lower()


def test_reforming_says_how_and_what_to_mind():
    # rated voltage through about 1 kohm for 30 to 60 minutes: a maker's storage page
    steps = " ".join(reforming_steps(25))
    assert "1 kohm" in steps
    assert "30 to 60 minutes" in steps
    assert "kill" not in steps
    assert reforming_steps(400)[0].startswith("At 400 V this can kill")
    assert "kill" in reforming_steps(None)[0]
