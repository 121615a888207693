"""The due list by the posterior: dates by hand, blanks, costs, and what nobody knows."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from fleet.decisions import (
    age_replacement_weibull,
    chance_failed_unseen,
    chance_within,
    due_by_draws,
    one_time_weibull,
)
from fleet.errors import BadFrame, BadInput
from fleet.frames import CELLS, DRAWS, DUE, check_frame

SHARES = pl.DataFrame({"model": ["BK3"], "prompt_share": [0.6]})
SAME = ((3.5, 15.0),) * 20


@pytest.fixture
def due(make, by_hand):
    """The due list of some units, by cells of some draws, at the usual as-of date."""

    def ask(working, cells=None, **options):
        table, draws = by_hand.frames(*(cells or by_hand.model(*SAME)))
        options = {"as_of": make.as_of, "costs": make.costs, "shares": SHARES, **options}
        return due_by_draws(
            working, table, draws, options.pop("costs"), options.pop("shares"), **options
        )

    return ask


def _started(years, as_of):
    return as_of - timedelta(days=round(years * 365.25))


def test_a_young_unit_by_hand(due, make, by_hand):
    age = (make.as_of - date(2020, 7, 1)).days
    seen = age - 30
    frame = due(make.working({"last_known_working": date(2026, 6, 1)}), new_parts="same")
    check_frame(frame, DUE, name="due")
    row = frame.row(0, named=True)
    scale = 15.0 * by_hand.year
    assert row["age"] == age
    wanted = chance_within(3.5, scale, age, 2.0 * by_hand.year)
    assert row["p_fail"] == pytest.approx(float(wanted), rel=1e-9)
    assert row["p_fail_low"] == pytest.approx(row["p_fail"])
    unseen = chance_failed_unseen(3.5, scale, seen, age, 0.6)
    assert row["p_failed_unseen"] == pytest.approx(float(unseen))
    best = float(age_replacement_weibull(3.5, scale, 40.0, 200.0).age)
    assert row["optimal_age"] == pytest.approx(best, rel=5e-3)
    day = date(2020, 7, 1) + timedelta(days=round(row["optimal_age"]))
    assert row["due_on"] == day
    assert row["due_low"] <= row["due_on"] <= row["due_high"]
    assert row["due_high"] - row["due_low"] < timedelta(days=30)
    assert row["overdue_days"] == 0.0
    assert row["action"] == "recap_when_due"
    assert row["supported"] is True


def test_due_is_never_before_the_as_of_date_and_overdue_is_counted(due, make, by_hand):
    working = make.working({"started": date(2003, 7, 1), "last_known_working": make.as_of})
    row = due(working, new_parts="same").row(0, named=True)
    assert row["due_on"] == make.as_of
    assert row["overdue_days"] == pytest.approx(row["age"] - row["optimal_age"])
    assert row["overdue_days"] > 5 * by_hand.year
    assert row["action"] == "recap_now"


def test_typical_new_parts_are_those_of_a_batch_nobody_knows(due, make, by_hand):
    cells = [
        by_hand.cell(*[(4.0, 8.0)] * 10, batch="K1"),
        by_hand.cell(*[(4.0, 20.0)] * 10),
        by_hand.cell(*[(4.0, 20.0)] * 10, parts="replaced"),
    ]
    working = make.working({"batch": "K1", "started": date(2025, 7, 1)})
    rate = float(age_replacement_weibull(4.0, 20.0 * by_hand.year, 40.0, 200.0).rate)
    wait = float(one_time_weibull(4.0, 8.0 * by_hand.year, 40.0, 200.0, rate).wait)
    typical = due(working, cells, new_parts="typical").row(0, named=True)
    assert typical["optimal_age"] == pytest.approx(wait, rel=0.01)
    same = due(working, cells, new_parts="same").row(0, named=True)
    # successors that last make an early recap pay more than the same life over again
    assert typical["optimal_age"] < same["optimal_age"]


def test_typical_and_same_agree_where_the_lives_agree(due, make):
    working = make.working({"batch": "K1"})
    both = [due(working, new_parts=name).row(0, named=True) for name in ("typical", "same")]
    assert both[0]["optimal_age"] == pytest.approx(both[1]["optimal_age"], rel=0.01)


def test_a_batch_of_its_own_and_one_nobody_knows(due, make, by_hand):
    cells = [
        by_hand.cell(*[(4.0, 8.0)] * 10, batch="K1"),
        by_hand.cell(*[(4.0, 25.0)] * 10, batch="K2"),
        by_hand.cell(*([(4.0, 8.0)] * 5 + [(4.0, 25.0)] * 5)),
        by_hand.cell(*[(4.0, 25.0)] * 10, parts="replaced"),
    ]
    units = [{"batch": b, "started": date(2016, 7, 1)} for b in ("K1", "K2", None, "K9")]
    frame = due(make.working(*units), cells).sort("unit")
    bad, good, unknown, unheard = frame["p_fail"]
    assert good < unknown < bad
    assert unheard == pytest.approx(unknown)  # a batch nobody has a life of
    assert unknown < 0.5 * (good + bad)  # at ten years most of the bad ones would have failed


def test_replaced_parts_have_their_own_cell(due, make, by_hand):
    cells = [
        by_hand.cell(*SAME),
        by_hand.cell(*[(3.5, 30.0)] * 20, parts="replaced"),
    ]
    units = [{"parts": parts} for parts in ("original", "replaced_known", "replaced_unknown")]
    first, known, unknown = due(make.working(*units), cells).sort("unit")["p_fail"]
    assert known == pytest.approx(unknown)
    assert known < 0.2 * first


def test_a_partly_renewed_set_is_due_by_its_oldest_parts(due, make, by_hand):
    age, oldest = 2.0, 9.0
    started, before = _started(age, make.as_of), _started(oldest, make.as_of)
    cells = [
        by_hand.cell(*[(3.0, 14.0)] * 8, batch="K1"),
        by_hand.cell(*[(3.0, 16.0)] * 8),
        by_hand.cell(*[(3.0, 20.0)] * 8, parts="replaced", failures=1.0),
    ]
    working = make.working(
        {"parts": "partial", "set_no": 2, "started": started, "oldest_started": before}
    ).with_columns(old_batch=pl.lit("K1"))
    row = due(working, cells, new_parts="same").row(0, named=True)
    years = [(make.as_of - day).days / by_hand.year for day in (started, before)]
    added = 0.5 * ((years[0] + 2) ** 3 - years[0] ** 3) / 20.0**3
    added += 0.5 * ((years[1] + 2) ** 3 - years[1] ** 3) / 14.0**3
    assert row["p_fail"] == pytest.approx(-np.expm1(-added), rel=1e-9)
    best = float(age_replacement_weibull(3.0, 14.0 * by_hand.year, 40.0, 200.0).age)
    assert row["optimal_age"] == pytest.approx(best, rel=5e-3)
    assert row["due_on"] == max(make.as_of, before + timedelta(days=round(row["optimal_age"])))
    assert row["age"] == (make.as_of - before).days
    assert row["supported"] is False
    # judged by the parts that were left: their life is known, whatever is known of new ones
    assert "only some of its parts were renewed" in row["reason"]
    assert "replaced parts in" not in row["reason"]


def test_no_working_units(due, make):
    frame = due(make.working().clear())
    check_frame(frame, DUE, name="due")
    assert frame.is_empty()


def test_a_model_without_cells(due, make):
    frame = due(make.working({}, {"model": "ZR1"})).sort("unit")
    known, other = frame.rows(named=True)
    assert known["p_fail"] is not None
    for name in ("p_fail", "p_fail_low", "p_fail_high", "p_failed_unseen", "optimal_age", "due_on"):
        assert other[name] is None
    assert other["supported"] is False
    assert "cannot be estimated" in other["reason"]


def test_no_cells_at_all(make):
    frame = due_by_draws(
        make.working({}, {}), pl.DataFrame(schema=CELLS), pl.DataFrame(schema=DRAWS),
        make.costs, SHARES, as_of=make.as_of,
    )  # fmt: skip
    check_frame(frame, DUE, name="due")
    assert frame["p_fail"].null_count() == 2
    assert frame["reason"].str.contains("cannot be estimated").all()


@pytest.mark.parametrize("missing", ["planned_cost", "failure_cost"])
@pytest.mark.parametrize("new_parts", ["typical", "same"])
def test_unknown_costs_leave_the_chance_and_no_date(due, make, missing, new_parts):
    costs = make.costs.with_columns(pl.lit(None, pl.Float64).alias(missing))
    row = due(make.working(), costs=costs, new_parts=new_parts).row(0, named=True)
    assert 0.0 < row["p_fail"] < 1.0
    for name in ("optimal_age", "due_on", "due_low", "due_high", "overdue_days"):
        assert row[name] is None


def test_a_unit_of_unknown_age(due, make):
    working = make.working({"started": None, "oldest_started": None}, {})
    unknown, known = due(working).sort("unit").rows(named=True)
    assert (unknown["age"], unknown["p_fail"], unknown["due_on"]) == (None, None, None)
    assert unknown["action"] == "check_in"
    assert known["p_fail"] is not None


def test_never_is_null_everywhere(due, make, by_hand):
    cells = by_hand.model(*[(0.9, 15.0)] * 10)
    row = due(make.working(), cells).row(0, named=True)
    for name in ("optimal_age", "due_on", "due_low", "due_high", "overdue_days"):
        assert row[name] is None
    assert row["action"] == "leave"
    assert "inf" not in row["reason"]


def test_no_basis_for_age_where_shapes_lie_on_both_sides_of_one(due, make, by_hand):
    cells = by_hand.model(*([(0.8, 15.0)] * 10 + [(1.3, 15.0)] * 10))
    row = due(make.working(), cells).row(0, named=True)
    assert row["supported"] is False
    assert "no basis for age" in row["reason"]


def test_some_draws_that_never_wear_out_leave_no_latest_date(due, make, by_hand):
    cells = by_hand.model(*([(0.9, 15.0)] * 3 + [(4.0, 15.0)] * 17))
    row = due(make.working(), cells, new_parts="same").row(0, named=True)
    assert row["due_on"] is not None
    assert row["due_low"] is not None
    assert row["due_high"] is None


def test_a_failure_that_costs_no_more_is_never_prevented(due, make):
    costs = make.costs.with_columns(failure_cost=pl.lit(40.0))
    row = due(make.working({"started": date(1990, 1, 1)}), costs=costs).row(0, named=True)
    assert (row["due_on"], row["action"]) == (None, "leave")


def test_a_blank_temperature_weighs_towards_cool_sites_for_old_units(due, make, by_hand):
    cells = by_hand.model(*[(3.5, 14.0, 1.0, 1.0)] * 200, mean_c=27.0, sd_c=6.0)
    old, told = ({"started": date(1998, 7, 1), "ambient_c": c} for c in (None, 27.0))
    blank, middle = due(make.working(old, told), cells).sort("unit").rows(named=True)
    assert blank["p_fail"] < middle["p_fail"]
    assert blank["due_high"] > middle["due_high"]


def test_where_no_share_is_known_half_of_failures_are_taken_to_be_told(due, make, by_hand):
    working = make.working({"last_known_working": date(2022, 7, 1)})
    row = due(working, shares=SHARES.clear()).row(0, named=True)
    age = (make.as_of - date(2020, 7, 1)).days
    seen = (date(2022, 7, 1) - date(2020, 7, 1)).days
    wanted = chance_failed_unseen(3.5, 15.0 * by_hand.year, seen, age, 0.5)
    assert row["p_failed_unseen"] == pytest.approx(float(wanted))


def test_the_order_of_units_of_known_age_does_not_matter(due, make, by_hand):
    cells = by_hand.model(*by_hand.invented(40))
    units = [{"unit": f"V{n}", "started": date(2000 + n, 3, 1), "batch": "K1"} for n in range(20)]
    frame = due(make.working(*units), cells)
    assert_frame_equal(due(make.working(*units[::-1]), cells), frame)
    alone = due(make.working(units[7]), cells)
    assert_frame_equal(alone, frame.filter(pl.col("unit") == "V7"))


def test_most_urgent_first(due, make, by_hand):
    cells = by_hand.model(*by_hand.invented(40, shape=(2.5, 5.0)))
    units = [
        {"started": date(1990 + 3 * n, 3, 1), "last_known_working": make.as_of} for n in range(12)
    ]
    frame = due(make.working(*units), cells)
    assert frame["action"][0] == "recap_now"
    dates = frame.filter(pl.col("action") == "recap_when_due")["due_on"]
    assert dates.len() > 1
    assert dates.is_sorted()


def test_a_wider_level_gives_wider_limits_and_the_same_chance(due, make, by_hand):
    cells = by_hand.model(*by_hand.invented(200))
    narrow, wide = (
        due(make.working(), cells, level=level).row(0, named=True) for level in (0.5, 0.95)
    )
    assert narrow["p_fail"] == wide["p_fail"]
    assert wide["p_fail_low"] < narrow["p_fail_low"] < narrow["p_fail_high"] < wide["p_fail_high"]
    assert narrow["due_on"] == wide["due_on"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"horizon_years": 0.0}, "horizon"),
        ({"horizon_years": float("nan")}, "horizon"),
        ({"level": 1.0}, "level"),
        ({"new_parts": "better"}, "typical or same"),
    ],
)
def test_what_cannot_be_asked(due, make, options, words):
    with pytest.raises(BadInput, match=words):
        due(make.working(), **options)


def test_tables_that_break_their_contract(due, make):
    with pytest.raises(BadFrame, match="started"):
        due(make.working().drop("started"))


def test_hours_of_zero_count_as_blank(due, make, by_hand):
    draws = ((3.0, 15.0, 1.0, 0.5),) * 20
    cells = by_hand.model(*draws, mean_log_hours=7.6, sd_log_hours=0.5)
    rows = make.working({"hours_per_year": 0.0}, {"hours_per_year": None})
    chances = due(rows, cells)["p_fail"].to_list()
    assert chances[0] == chances[1]


def test_no_date_from_a_prior_alone(due, make, by_hand):
    """Two failures of the whole model: the chance is given, a date is not."""
    row = due(make.working({}), by_hand.model(*SAME, failures=1.0)).row(0, named=True)
    assert row["p_fail"] is not None
    assert row["due_on"] is row["optimal_age"] is row["due_low"] is row["due_high"] is None
    assert row["action"] in ("leave", "check_in")
    assert "too few to plan on" in row["reason"]


def test_limits_hold_a_mean_that_lies_beyond_a_quantile(due, make, by_hand):
    """One draw in twenty hardly ever fails; the others are all but sure to within the horizon."""
    cells = by_hand.model(*((3.5, 3.0),) * 39, (3.5, 300.0))
    working = make.working({"batch": "K1"})
    row = due(working, cells, horizon_years=20.0).row(0, named=True)
    assert row["p_fail_low"] == row["p_fail"] < row["p_fail_high"]
