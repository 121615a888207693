"""fleet choose."""

import csv
import io

import pytest

CUT = "2024-06-30"
KEYS = {
    "option", "keeps_service", "pay_now", "cost", "years_of_service", "cost_per_year", "cost_low",
    "cost_high", "p_no_failure", "p_no_failure_low", "p_no_failure_high", "what", "why_not",
    "rank", "currency",
}  # fmt: skip
PRICED = ("--price-used", "60", "--used-parts-age", "20", "--price-new", "240")


def test_options_with_their_costs_and_what_lacks_a_price(club):
    done = club("choose", "TL-015", "--as-of", CUT, *PRICED, "--json")
    rows = done.rows()
    assert all(set(row) == KEYS for row in rows)
    each = {row["option"]: row for row in rows}
    assert {"recap_now", "recap_when_it_fails", "leave", "used", "new", "retire"} <= set(each)
    ranked = [row["cost_per_year"] for row in rows if row["rank"]]
    assert ranked == sorted(ranked)
    assert each["board"]["why_not"] == "no price; give --price-board or fleet add price"
    assert each["board"]["cost_per_year"] is None
    assert each["retire"]["years_of_service"] == 0
    for row in rows:
        if row["cost_per_year"] is not None:
            assert row["cost_low"] <= row["cost_per_year"] <= row["cost_high"]
            assert 0.0 <= row["p_no_failure_low"] <= row["p_no_failure"] <= 1.0
    assert "TL-015: cheapest over 10 years is to" in done.err


def test_the_screen_and_csv(club):
    done = club("choose", "TL-015", "--as-of", CUT, *PRICED, "--years", "5")
    assert done.code == 0
    assert "no failure in 5 years" in done.out
    assert "ends service: not ranked" in done.out
    assert "nan" not in (done.out + done.err).lower()
    assert "unplug it" in done.err
    text = club("choose", "TL-015", "--as-of", CUT, "--csv").out
    assert set(next(csv.DictReader(io.StringIO(text)))) == KEYS


def test_prices_from_the_records(club):
    add = ("add", "price", "--model", "BM-2", "--item", "board", "--price", "50", "--currency")
    assert club(*add, "EUR").code == 0
    rows = club("choose", "TL-015", "--as-of", "2027-01-01", "--json").rows()
    board = next(row for row in rows if row["option"] == "board")
    assert board["pay_now"] == 50.0
    assert board["why_not"] is None


def test_a_dead_machine(club):
    rows = club("choose", "TL-001", "--as-of", CUT, *PRICED, "--json").rows()
    assert {row["option"] for row in rows} == {
        "recap_now", "used", "used_recapped", "new", "board", "retire",
    }  # fmt: skip
    done = club("choose", "TL-001", "--as-of", CUT, *PRICED)
    assert "options are reckoned for a dead machine" in done.err


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("TL-999",), "there is no unit TL-999 in the store"),
        (("TL-015", "--planned-cost", "-3"), "the planned cost is -3"),
        (("TL-015", "--success", "0"), "hardly ever succeeds"),
        (("TL-015", "--price-used", "60"), None),
    ],
)
def test_one_sentence_each(club, arguments, said):
    done = club("choose", *arguments, "--as-of", CUT)
    if said is None:  # a used machine of unknown age is listed, not guessed
        assert done.code == 0
        assert "no age of its parts; give --used-parts-age" in done.out
        return
    assert done.code == 1
    assert done.out == ""
    assert said in done.err
    assert done.err.count("\n") == 1


def test_two_currencies(club):
    add = ("add", "price", "--model", "BM-2", "--item", "new", "--price", "50", "--currency")
    assert club(*add, "XTS").code == 0
    done = club("choose", "TL-015", "--as-of", "2027-01-01")
    assert done.code == 1
    assert "two currencies (model BM-2 in EUR, its price new in XTS)" in done.err


def test_no_costs(club):
    done = club("amend", "--help")
    assert done.code == 0
    club("add", "model", "--model", "QQ-1")
    club("add", "unit", "--unit", "Q-1", "--model", "QQ-1", "--manufactured", "2000-05-01",
         "--enrolled-on", "2010-02-01", "--enrolled-because", "working")  # fmt: skip
    club("log", "working", "Q-1", "--on", "2024-05-01")
    done = club("choose", "Q-1", "--as-of", "2027-01-01")
    assert done.code == 1
    assert "what a planned recap costs for model QQ-1 is not known" in done.err


def test_wrong_usage(club):
    assert club("choose").code == 2
    assert club("choose", "TL-015", "--years", "0").code == 2
    assert club("choose", "TL-015", "--beyond-repair", "2").code == 2
