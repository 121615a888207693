"""Order now, together with the next window, or later: worked by hand."""

from datetime import date

import polars as pl
import pytest

from fleet.decisions.now_or_later import WAYS, Windows, advised_way, compare_ways
from fleet.decisions.parts_late import WAITS
from fleet.decisions.purchase import NEEDS
from fleet.errors import BadInput
from fleet.frames import check_frame

TODAY = date(2026, 7, 1)
NEXT = date(2026, 10, 1)
OFFERS = {
    "part": pl.String,
    "supplier": pl.String,
    "price": pl.Float64,
    "price_from_quantity": pl.Int64,
    "shipping": pl.Float64,
    "lead_days": pl.Float64,
    "age_years": pl.Float64,
}


def _needs(**pieces):
    return pl.DataFrame(list(pieces.items()), schema=NEEDS, orient="row")


def _offers(lead=4.0, age=0.5, shipping=5.0):
    rows = [("A", "X", 1.0, 1, shipping, lead, age), ("A", "X", 0.8, 10, shipping, lead, age)]
    return pl.DataFrame(rows, schema=OFFERS, orient="row")


def _ways(this, both, offers, days=("2026-07-20", "2026-08-03"), **windows):
    waits = [(f"U{n}", "KM", date.fromisoformat(day), "A") for n, day in enumerate(days)]
    starts = pl.DataFrame(waits, schema=WAITS, orient="row")
    given = {"as_of": TODAY, "next_from": NEXT, **windows}
    found = compare_ways(this, both, offers, starts, Windows(**given))
    check_frame(found, WAYS, name="ways")
    return found, {row["way"]: row for row in found.iter_rows(named=True)}


def test_one_shipping_charge_and_a_price_break_are_saved():
    """Apart 6 + 5 and 6 + 5 = 22; together 12 at 0.8 and 5 = 14.6."""
    found, by = _ways(_needs(A=6), _needs(A=12), _offers())
    assert by["apart"]["cost"] == pytest.approx(22.0)
    assert by["together_now"]["cost"] == pytest.approx(14.6)
    assert (by["apart"]["orders"], by["together_now"]["orders"]) == (2, 1)
    assert advised_way(found) == "together_now"


def test_waiting_makes_this_windows_jobs_late():
    """Jobs of 20 July and 3 August wait for parts ordered on 1 October: 73 days at most."""
    _, by = _ways(_needs(A=6), _needs(A=12), _offers())
    assert (by["together_later"]["jobs_late"], by["together_later"]["days_late"]) == (2, 73)
    assert by["together_later"]["order_on"] == NEXT
    assert by["together_now"]["jobs_late"] == 0


def test_parts_that_take_long_make_jobs_late_whichever_way():
    """Thirty days from 1 July is 31 July: the job of 20 July is 11 days late."""
    found, by = _ways(_needs(A=6), _needs(A=12), _offers(lead=30.0))
    assert (by["apart"]["jobs_late"], by["apart"]["days_late"]) == (1, 11)
    assert by["together_now"]["jobs_late"] == 1
    assert advised_way(found) == "together_now"


def test_parts_that_pass_the_shelf_limit_by_waiting_speak_against():
    """1.9 years old today, 92 days more is 2.15 years: past the two years of makers' notes."""
    found, by = _ways(_needs(A=6), _needs(A=12), _offers(age=1.9))
    assert by["together_now"]["lie_longer"] == 6
    assert by["together_now"]["which_longer"] == "A"
    assert by["together_now"]["years_on_shelf"] == pytest.approx(92 / 365.25)
    assert advised_way(found) == "apart"
    # past it already: waiting changes nothing
    _, by = _ways(_needs(A=6), _needs(A=12), _offers(age=5.0))
    assert by["together_now"]["lie_longer"] == 0


def test_money_tied_up_counts_where_a_rate_is_given():
    """Six pieces at 0.8 for 92 days at 10 % a year."""
    _, by = _ways(_needs(A=6), _needs(A=12), _offers(), rate=0.1)
    assert by["together_now"]["tied_up"] == pytest.approx(0.1 * 92 / 365.25 * 6 * 0.8)
    assert by["apart"]["tied_up"] == 0.0


def test_nothing_saved_stays_apart():
    found, _ = _ways(_needs(A=2), _needs(A=4), _offers(shipping=0.0), days=())
    assert advised_way(found) == "apart"


def test_a_next_window_without_needs():
    found, by = _ways(_needs(A=2), _needs(A=2), _offers())
    assert by["apart"]["cost"] == by["together_now"]["cost"]
    assert advised_way(found) == "apart"


@pytest.mark.parametrize(
    "wrong", [{"rate": -0.1}, {"rate": float("nan")}, {"next_from": date(2026, 1, 1)}]
)
def test_what_cannot_be_is_refused(wrong):
    with pytest.raises(BadInput):
        Windows(**{"as_of": TODAY, "next_from": NEXT, **wrong})
