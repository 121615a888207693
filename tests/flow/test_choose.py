"""Keep, recap or replace on the demo: trade facts, prices, flips, what cannot be reckoned."""

from dataclasses import replace
from datetime import date

import polars as pl
import pytest

from fleet.errors import BadInput, NotKnown
from fleet.flow.beyond_repair import BeyondRepair, beyond_repair
from fleet.flow.choose import Asked, Chances, Told, choose, known_of
from fleet.flow.choose_lead import lead_said, next_step
from fleet.flow.choose_machine import Found, Standing
from fleet.flow.choose_words import chances_said, remark
from fleet.flow.due import due
from fleet.flow.openings import openings_of
from fleet.flow.replacement_prices import offered
from fleet.flow.shop import shop_of

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def known(demo_store):
    return known_of(demo_store, as_of=CUT)


@pytest.fixture(scope="module")
def old_unit(demo_store):
    """A machine overdue for its recap, of a model with every price."""
    frame = due(demo_store, as_of=CUT).frame
    return frame.filter(model="WQ18", action="recap_now")["unit"][0]


@pytest.fixture(scope="module")
def found(known, old_unit):
    return choose(known, old_unit)


def costs(choice):
    return dict(zip(choice.frame["option"], choice.frame["cost_per_year"], strict=True))


def test_a_recap_costs_far_less_than_a_used_machine_with_parts_as_old(found):
    """Common practice, no source."""
    cost = costs(found)
    assert found.frame["option"][0] == "recap_now"
    assert cost["recap_now"] < cost["used_recapped"] < cost["new"]
    assert cost["recap_now"] < cost["used"]
    row = found.frame.row(by_predicate=pl.col("option") == "recap_now", named=True)
    assert row["pay_now"] == 40.0
    assert row["cost_low"] <= row["cost_per_year"] <= row["cost_high"]
    assert any("brings the same ageing parts" in text for text in found.said)


def test_what_would_flip_the_choice_does_flip_it(known, old_unit, found):
    flips = {row["what"]: row for row in found.flips.iter_rows(named=True)}
    used = flips["used"]
    assert used["at"] < used["now"] == 110.0
    assert any(f"a used machine costs under {used['at']:.3g} XTS" in text for text in found.turned)
    under = choose(known, old_unit, told=Told(used=0.99 * used["at"]))
    assert under.frame["option"][0] == used["other"]
    over = choose(known, old_unit, told=Told(used=1.01 * used["at"]))
    assert over.frame["option"][0] == "recap_now"


def test_years_that_do_not_count_and_leftovers(known, old_unit, found):
    short = choose(known, old_unit, asked=Asked(years=2))
    assert costs(short)["new"] > costs(found)["new"]  # the price over fewer years
    without = choose(known, old_unit, asked=Asked(years=10, leftover=False))
    assert costs(without)["recap_when_it_fails"] < costs(found)["recap_when_it_fails"]


def test_a_longer_life_of_new_parts_costs_less(known, old_unit, found):
    longer = choose(known, old_unit, asked=Asked(new_life=40.0))
    assert costs(longer)["recap_now"] < costs(found)["recap_now"]
    machine = choose(known, old_unit, asked=Asked(new_machine_life=40.0))
    assert costs(machine)["new"] < costs(found)["new"]


def test_a_model_without_a_price_lists_the_option_and_says_what_to_give(demo_store, known):
    frame = due(demo_store, as_of=CUT).frame.filter(model="IX07")
    found = choose(known, frame["unit"][0])
    board = found.frame.row(by_predicate=pl.col("option") == "board", named=True)
    assert (board["cost_per_year"], board["rank"]) == (None, None)
    assert board["why_not"] == "no price; give --price-board or fleet add price"
    told = choose(known, frame["unit"][0], told=Told(board=60.0))
    assert "board" not in told.frame.drop_nulls("why_not")["option"].to_list()


def test_a_dead_machine_has_no_own_parts_to_wait_for(known, old_unit):
    found = choose(known, old_unit, asked=Asked(failed=True))
    assert not found.works
    options = set(found.frame["option"])
    assert options == {"recap_now", "used", "used_recapped", "new", "board", "retire"}


def test_a_sure_loss_makes_a_recap_of_a_dead_machine_a_purchase(known, old_unit):
    told = Told(beyond_repair=1.0)
    found = choose(known, old_unit, asked=Asked(failed=True), told=told)
    cost = costs(found)
    assert cost["recap_now"] == pytest.approx(min(cost["used"], cost["used_recapped"]), rel=0.05)


@pytest.mark.parametrize(
    ("action", "asked", "believed"),
    [
        ("measure", "measure its parts before deciding", "If its parts are as believed"),
        ("check_in", "ask whether it still works", "If it works as believed"),
    ],
)
def test_what_the_due_list_asks_for_comes_first(demo_store, known, action, asked, believed):
    listed = due(demo_store, as_of=CUT).frame.filter(action=action)
    unit = listed.filter(model="WQ18")["unit"][0]
    found = choose(known, unit)
    assert found.said[0].startswith(f"{unit}: {asked}")
    assert found.said[1].startswith(f"{believed}, cheapest over 10 years is to ")
    assert not any(text.startswith("Measuring first does not pay") for text in found.said) or (
        action == "check_in"
    )
    assert unit in found.next_step


def test_too_few_failures_of_a_model_lead(known, old_unit, found):
    machine = Found(unit=old_unit, model="WQ18", works=True)
    offer = offered(known.records, "WQ18", Told())
    few = Standing(action="leave", too_few=True)
    said = list(lead_said(found.frame, machine, offer, 10, few))
    assert said[0].startswith(f"{old_unit}: too few failures of model WQ18 are known")
    assert "the ranking leans on what is usual" in said[0]
    assert said[1].startswith("By what is usual, cheapest over 10 years is to ")
    assert "fleet plan" not in next_step(found.frame, machine, few)
    silent = Standing(action="check_in", too_few=True)
    first = next(lead_said(found.frame, machine, offer, 10, silent))
    assert "too few" in first
    assert "ask whether it still works" in first


def test_next_cheapest_is_no_next_step(found, old_unit):
    assert any(text.startswith("Next cheapest: ") for text in found.said)
    assert not any(text.startswith("Next: ") for text in found.said)
    assert found.next_step.startswith("Next: `fleet plan`")
    assert f"fleet sheet {old_unit}" in found.next_step


def test_a_cost_below_zero_is_said_to_be_scrap_money(known, old_unit):
    found = choose(known, old_unit)
    retire = found.frame.filter(option="retire").select(remark()).item()
    assert retire == "ends service: not ranked; to pay: the scrap money it brings"
    assert any("money that comes in" in text for text in found.said)
    none = choose(known, old_unit, told=Told(scrap=0.0))
    assert not any("money that comes in" in text for text in none.said)


@pytest.mark.parametrize(("jobs", "said"), [(0, "a guess"), (4, "3 of 4 recaps")])
def test_a_success_chance_says_what_it_rests_on(jobs, said):
    chances = Chances(
        success=0.8, jobs=jobs, cured=3 if jobs else 0, success_told=False, beyond_told=False,
        beyond=BeyondRepair(chance=0.1, failures=0, ended=0),
    )  # fmt: skip
    text = next(chances_said("M", chances))
    assert said in text
    assert "0 of 0" not in text
    assert "fleet outcomes" in text


def test_what_cannot_be_reckoned_is_said(known, old_unit):
    with pytest.raises(NotKnown, match="there is no unit"):
        choose(known, "ZZZ-1")
    records = known.records
    gone = records["reports"].filter(kind="retired")["unit"]
    last = records["reports"].sort("date_latest").group_by("unit").agg(pl.col("kind").last())
    retired = last.filter(pl.col("unit").is_in(gone.implode()), kind="retired")["unit"][0]
    with pytest.raises(BadInput, match="was retired on"):
        choose(known, retired)
    for years in (0, 41):
        with pytest.raises(BadInput, match="give 1 to 40"):
            Asked(years=years)
    for wrong in ({"used": -1.0}, {"success": 1.5}, {"planned": 0.0}, {"success": 0.0}):
        with pytest.raises(BadInput):
            Told(**wrong)


def reports(*rows):
    days = [pl.Series([d]).str.to_date()[0] for _, d, _, _ in rows]
    return pl.DataFrame(
        {
            "unit": [r[0] for r in rows],
            "date_latest": days,
            "date_earliest": days,
            "kind": [r[2] for r in rows],
            "cause": [r[3] for r in rows],
        },
        schema_overrides={"cause": pl.String},
    )


def test_beyond_repair_by_hand():
    units = pl.DataFrame({"unit": ["A", "B", "C", "D", "E"], "model": ["M"] * 5})
    told = reports(
        ("A", "2010-01-01", "failed", "capacitor"), ("A", "2010-02-01", "recapped", None),
        ("B", "2010-01-01", "failed", None), ("B", "2010-06-01", "retired", None),
        ("C", "2010-01-01", "failed", "other"), ("C", "2010-02-01", "retired", None),
        ("D", "2010-01-01", "failed", "capacitor"),  # nobody knows yet
        ("E", "2010-01-01", "failed", "capacitor"), ("E", "2015-01-01", "retired", None),  # late
    )  # fmt: skip
    found = beyond_repair({"units": units, "reports": told}, "M")
    assert (found.failures, found.ended) == (2, 1)
    assert found.chance == pytest.approx((1 + 0.1 * 5) / (2 + 5))
    none = beyond_repair({"units": units, "reports": told}, "other")
    assert none.chance == pytest.approx(0.1)


def test_the_last_word_of_the_shop_counts_column_by_column():
    shop = pl.DataFrame(
        {
            "entered_on": [None, None],
            "labour_rate": [12.0, None],
            "bench_hours_per_month": [18.0, 20.0],
            "budget": [None, None],
            "setup_hours": [None, 0.5],
            "currency": ["XTS", None],
        },
        schema_overrides={"budget": pl.Float64, "entered_on": pl.Date},
    )
    found = shop_of({"shop": shop})
    assert (found.labour_rate, found.bench_hours_per_month) == (12.0, 20.0)
    assert (found.budget, found.setup_hours, found.currency) == (None, 0.5, "XTS")


def test_openings_are_counted_once_a_month(known):
    records, table = known.records, known.table
    once = openings_of(records, table)
    twice = {**records, "reports": pl.concat([records["reports"]] * 2)}
    assert openings_of(twice, table).equals(once)
    assert (once["rate"] > 0.0).all()
    none = replace(table, lives=table.lives.clear())
    assert openings_of({**records, "reports": records["reports"].clear()}, none)[
        "rate"
    ].to_list() == pytest.approx([0.05] * once.height)


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        (
            "Overdue by 6 months: new parts pay best at 8.1 years, and its parts are 8.6 years "
            "old. Not well supported: few failures. Measure its parts before deciding.",
            "The due list says: Overdue by 6 months: new parts pay best at 8.1 years, and its "
            "parts are 8.6 years old",
        ),
        (
            "Due on 1 May 2030, when its parts are 12 years old (between 1 May 2029 and 1 May "
            "2031). Left as it is, it may fail.",
            "Its parts are 8.59 years old; the due list says: Due on 1 May 2030, when its parts "
            "are 12 years old (between 1 May 2029 and 1 May 2031)",
        ),
    ],
)
def test_of_the_due_reason_only_the_date_is_repeated(reason, said):
    from fleet.flow.choose_words import due_said

    assert due_said(8.59, reason) == said
