"""Every row of the table in fleet/decisions/actions.py, in words and with its numbers."""

from datetime import date

import polars as pl
import pytest

from fleet.decisions import due_list

OLD = {"started": date(2012, 7, 1)}  # 14 years at the as-of date, best age 7.5 years
YOUNG = {"started": date(2022, 7, 1)}  # 4 years
SILENT = {"last_known_working": date(2022, 8, 1)}


def advice(make, unit, fit=None, *, points=None, costs=None, **options):
    region = make.around if points is None else make.regions(*points)
    return due_list(
        make.working(unit),
        make.estimates(fit or {}),
        region,
        make.costs if costs is None else costs,
        as_of=make.as_of,
        **options,
    ).row(0, named=True)


def test_failed_once_and_running_on_is_measured(make):
    row = advice(make, {**YOUNG, "failed_once": True})
    assert (row["action"], row["supported"]) == ("measure", False)
    assert "failed once and it runs again on the same parts" in row["reason"]


def test_unknown_age_asks_for_the_build_date(make):
    row = advice(make, {"started": None, "last_known_working": None})
    assert (row["action"], row["supported"]) == ("check_in", False)
    assert "give its build date" in row["reason"]
    assert [row[c] for c in ("age", "p_fail", "optimal_age", "due_on")] == [None] * 4


@pytest.mark.parametrize(("seen", "action"), [({}, "leave"), (SILENT, "check_in")])
def test_no_estimate_says_why_and_what_would_help(make, seen, action):
    none = {"exists": False, "shape": None, "scale": None, "reason": "no failure seen yet."}
    row = advice(make, {**YOUNG, **seen}, none)
    assert (row["action"], row["supported"], row["p_fail"]) == (action, False, None)
    assert "model BK3 lasts cannot be estimated yet (no failure seen yet)" in row["reason"]
    assert "log the units that still work" in row["reason"]
    assert ("Last seen working on 1 August 2022, 3.9 years ago" in row["reason"]) == bool(seen)


@pytest.mark.parametrize(("seen", "action"), [({}, "leave"), (SILENT, "check_in")])
@pytest.mark.parametrize(
    ("planned", "failure", "options"),
    [
        (None, None, "--planned-cost and --failure-cost"),
        (None, 200.0, "--planned-cost."),
        (40.0, None, "give --failure-cost"),
        (0.0, 200.0, "--planned-cost."),
    ],
)
def test_unknown_costs_say_what_to_give(make, seen, action, planned, failure, options):
    costs = pl.DataFrame(
        {"model": ["BK3"], "planned_cost": [planned], "failure_cost": [failure]},
        schema=make.costs.schema,
    )
    row = advice(make, {**OLD, **seen}, costs=costs)
    assert (row["action"], row["due_on"], row["optimal_age"]) == (action, None, None)
    assert options in row["reason"]
    assert row["p_fail"] > 0
    assert row["p_fail_low"] < row["p_fail"] < row["p_fail_high"]
    assert "fails within 2 years is 3 in 10" in row["reason"]


NO_WEAR = {"shape": 0.8, "shape_low": 0.7, "shape_high": 0.95}


def test_failures_that_do_not_grow_with_age_are_left(make):
    row = advice(make, OLD, NO_WEAR, points=((0.75, 14.0), (0.9, 16.0)))
    assert (row["action"], row["supported"]) == ("leave", True)
    assert row["reason"] == (
        "These failures do not grow with age: a recap in advance buys nothing."
    )
    assert [row[c] for c in ("optimal_age", "due_on", "due_low", "due_high", "overdue_days")] == [
        None
    ] * 5


def test_an_open_shape_says_that_age_has_no_basis(make):
    row = advice(make, OLD, {"shape": 0.9, "shape_low": 0.6, "shape_high": 1.4}, points=())
    assert (row["action"], row["supported"]) == ("leave", False)
    assert "As far as is known these failures do not grow with age" in row["reason"]
    assert "no basis for age" in row["reason"]


def test_left_though_silent_asks_when_you_can(make):
    row = advice(make, {**OLD, **SILENT}, NO_WEAR, points=())
    assert row["action"] == "leave"
    assert "ask whether it still works" in row["reason"]


def test_failures_no_dearer_than_recaps_are_left(make):
    costs = make.costs.with_columns(failure_cost=pl.lit(40.0))
    row = advice(make, OLD, costs=costs)
    assert row["action"] == "leave"
    assert "A failure costs no more than a planned recap" in row["reason"]


def test_a_best_age_past_the_calendar_is_never(make):
    row = advice(
        make, OLD, {"shape": 1.02, "shape_low": 1.01, "shape_high": 1.1}, points=((1.02, 15.0),)
    )
    assert (row["action"], row["optimal_age"], row["due_on"]) == ("leave", None, None)
    assert "would save next to nothing" in row["reason"]


def test_due_with_good_evidence_is_recapped_now(make):
    row = advice(make, OLD)
    assert (row["action"], row["supported"]) == ("recap_now", True)
    assert row["reason"] == (
        "Overdue by 6.5 years: new parts pay best at 7.5 years, and its parts are 14 years old. "
        "Left as it is, the chance that it fails within 2 years is 3 in 10 (between 2 in 10 and "
        "4 in 10). This rests on 23 failures among 140 lives of model BK3."
    )


def test_due_and_silent_says_both(make):
    row = advice(make, {**OLD, **SILENT})
    assert row["action"] == "recap_now"
    assert row["p_failed_unseen"] > 0.1
    assert "Overdue by" in row["reason"]
    assert "Last seen working on 1 August 2022" in row["reason"]


@pytest.mark.parametrize(
    ("unit", "fit", "words"),
    [
        ({"parts": "partial"}, {"parts": "replaced"}, "only some of its parts were renewed"),
        ({"parts": "replaced_known"}, {}, "too little is known of replaced parts"),
        ({}, {"shape_low": 0.9}, "no basis for age"),
        ({}, {"shape_low": None}, "no basis for age"),
        ({}, {"oldest_age": 10 * 365.25}, "older than any life watched (oldest: 10 years)"),
        ({}, {"oldest_age": None}, "older than any life watched (oldest: unknown)"),
    ],
    ids=str,
)
def test_due_with_evidence_against_it_is_measured(make, unit, fit, words):
    row = advice(make, {**OLD, **unit}, fit)
    assert (row["action"], row["supported"]) == ("measure", False)
    assert words in row["reason"]
    assert "Measure its parts before deciding." in row["reason"]


def test_due_perhaps_only_later_with_a_shape_near_one_is_measured(make):
    late = ((1.15, 20.0), (3.0, 15.0))
    row = advice(make, OLD, {"shape_low": 1.1}, points=late)
    assert (row["action"], row["supported"]) == ("measure", True)
    assert row["due_low"] == make.as_of < row["due_high"]
    assert "The evidence leaves it open: it may be due only on" in row["reason"]
    never = advice(make, OLD, {"shape_low": 1.1}, points=((1.0, 20.0), (3.0, 15.0)))
    assert (never["action"], never["due_high"]) == ("measure", None)
    assert "it may never be due" in never["reason"]
    steep = advice(make, OLD, {"shape_low": 1.3}, points=late)
    assert steep["action"] == "recap_now"


def test_a_horizon_past_the_oldest_life_does_not_put_off_what_is_due(make):
    row = advice(make, OLD, {"oldest_age": 15 * 365.25})
    assert (row["action"], row["supported"]) == ("recap_now", False)
    assert "in 2 years its parts will be older than any life watched" in row["reason"]


@pytest.mark.parametrize("unit", [SILENT, {"last_known_working": None}], ids=str)
def test_not_due_and_not_seen_for_three_years_is_asked_after(make, unit):
    row = advice(make, {**YOUNG, **unit}, {"prompt_share": 0.99})
    assert row["action"] == "check_in"
    assert row["p_failed_unseen"] < 0.1
    assert "ask whether it still works. Due on" in row["reason"]


def test_the_chance_of_an_unseen_failure_alone_is_reason_to_ask(make):
    unit = {**YOUNG, "last_known_working": date(2024, 7, 1)}
    assert advice(make, unit)["action"] == "recap_when_due"
    likely = {"prompt_share": 0.0, "shape": 2.0, "scale": 8 * 365.25}
    row = advice(make, unit, likely, points=((2.0, 8.0),))
    # from age 2 to 4 the cumulative hazard grows by (4/8)^2 - (2/8)^2 = 3/16
    assert row["p_failed_unseen"] == pytest.approx(1 - 2.718281828459045 ** (-3 / 16), rel=1e-3)
    assert row["action"] == "check_in"
    assert "the chance that it has failed since is 2 in 10" in row["reason"]


def test_due_later_says_when_and_how_sure(make):
    row = advice(make, YOUNG)
    assert (row["action"], row["supported"]) == ("recap_when_due", True)
    assert row["due_low"] < row["due_on"] < row["due_high"]
    assert row["reason"].startswith("Due on 14 January 2030, when its parts are 7.5 years old (bet")


def test_due_later_without_support_says_so(make):
    row = advice(make, YOUNG, {"oldest_age": 7 * 365.25})
    assert (row["action"], row["supported"]) == ("recap_when_due", False)
    assert "the best age lies beyond the oldest life watched (oldest: 7 years)" in row["reason"]


def test_one_failure_is_too_few_to_plan_on(make):
    row = advice(make, YOUNG, {"failures": 1.0})
    assert "failures so far: 1; three are needed to plan on" in row["reason"]
