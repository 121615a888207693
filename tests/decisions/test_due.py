import math
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.decisions import (
    ACTIONS,
    age_replacement_weibull,
    due_list,
    long_run_cost,
    one_time_weibull,
)
from fleet.errors import BadFrame, BadInput
from fleet.frames import DUE, ESTIMATES, REGION, WORKING, check_frame, empty_frame


def due(make, working, estimates=None, regions=None, costs=None, **options):
    return due_list(
        working,
        make.estimates() if estimates is None else estimates,
        make.around if regions is None else regions,
        make.costs if costs is None else costs,
        **{"as_of": make.as_of, **options},
    )


def test_one_unit_by_hand(make):
    # shape 2, scale 10 years, age 6 years (2192 days less one), horizon 2 years
    unit = make.working({"started": date(2020, 7, 1), "last_known_working": date(2025, 7, 1)})
    fit = make.estimates({"shape": 2.0, "scale": 3652.5, "prompt_share": 0.5})
    row = due(make, unit, fit, make.regions((2.0, 9.0), (2.0, 11.0))).row(0, named=True)
    assert row["age"] == 2191.0
    grow = ((2191 + 730.5) ** 2 - 2191**2) / 3652.5**2
    assert row["p_fail"] == pytest.approx(1 - math.exp(-grow), rel=1e-12)
    assert row["p_fail_low"] == pytest.approx(1 - math.exp(-grow * 100 / 121), rel=1e-10)
    assert row["p_fail_high"] == pytest.approx(1 - math.exp(-grow * 100 / 81), rel=1e-10)
    q = 1 - math.exp(-(2191**2 - 1826**2) / 3652.5**2)
    assert row["p_failed_unseen"] == pytest.approx(q / 2 / (q / 2 + 1 - q), rel=1e-12)
    # published.md 5.3, shape 2, cost ratio 5 (computed): 0.510655 of the scale
    assert row["optimal_age"] == pytest.approx(0.510655 * 3652.5, rel=1e-6)
    assert row["overdue_days"] == pytest.approx(2191 - 0.510655 * 3652.5, abs=0.01)
    assert row["due_on"] == make.as_of
    assert row["horizon_years"] == 2.0


def test_due_dates_are_the_start_and_the_best_age(make):
    row = due(make, make.working(), make.estimates(), make.around).row(0, named=True)
    assert row["due_on"] == date(2020, 7, 1) + timedelta(days=round(row["optimal_age"]))
    assert row["overdue_days"] == 0.0
    ages = [
        age_replacement_weibull(p["shape"], p["scale"], 40.0, 200.0).age
        for p in make.around.iter_rows(named=True)
    ]
    assert row["due_low"] == date(2020, 7, 1) + timedelta(days=round(float(min(ages))))
    assert row["due_high"] == date(2020, 7, 1) + timedelta(days=round(float(max(ages))))


def test_a_partial_set_is_as_old_as_its_oldest_parts(make):
    unit = make.working(
        {
            "parts": "partial",
            "started": date(2020, 7, 1),
            "oldest_started": date(2005, 7, 1),
            "last_known_working": None,
        }
    )
    row = due(make, unit).row(0, named=True)
    assert row["age"] == (make.as_of - date(2005, 7, 1)).days
    assert row["supported"] is False
    # it worked when some of its parts were renewed, at age 15 years
    seen, now = 5479.0, row["age"]
    q = 1 - math.exp((seen / (15 * make.year)) ** 3 - (now / (15 * make.year)) ** 3)
    assert row["p_failed_unseen"] == pytest.approx(0.4 * q / (0.4 * q + 1 - q), rel=1e-10)


def test_working_reports_from_before_the_set_do_not_count_against_it(make):
    unit = make.working({"started": date(2025, 7, 1), "last_known_working": date(2020, 1, 1)})
    row = due(make, unit).row(0, named=True)
    assert row["p_failed_unseen"] < 0.001
    assert row["last_known_working"] == date(2020, 1, 1)


def test_bad_batch_is_judged_against_what_typical_parts_cost(make):
    fits = make.estimates({}, {"batch": "B7", "scale": 5 * make.year, "failures": 9.0})
    unit = make.working({"batch": "B7", "started": date(2025, 7, 1)})
    area = pl.concat([make.around, make.regions((3.0, 5.5), (2.5, 4.6), batch="B7")])
    rate = long_run_cost(fits, make.costs)["advised"][0] / make.year
    typical = due(make, unit, fits, area).row(0, named=True)
    same = due(make, unit, fits, area, new_parts="same").row(0, named=True)
    once = one_time_weibull(3.0, 5 * make.year, 40.0, 200.0, rate)
    assert typical["optimal_age"] == pytest.approx(float(once.wait), rel=1e-12)
    assert same["optimal_age"] == pytest.approx(
        float(age_replacement_weibull(3.0, 5 * make.year, 40.0, 200.0).age), rel=1e-12
    )
    assert typical["optimal_age"] < same["optimal_age"]
    assert typical["due_on"] < same["due_on"]
    assert typical["due_low"] <= typical["due_on"] <= typical["due_high"]


def test_typical_and_same_agree_where_the_unit_is_typical(make):
    units = make.working({}, {"started": date(2010, 1, 1)}, {"parts": "replaced_known"})
    assert due(make, units).equals(due(make, units, new_parts="same"))


def test_a_batch_that_fails_at_any_age_among_better_ones_is_due_at_once(make):
    steady = {"shape": 1.0, "shape_low": 0.7, "shape_high": 1.4, "scale": 2 * make.year}
    fits = make.estimates({}, {"batch": "B7", "failures": 9.0, **steady})
    area = pl.concat([make.around, make.regions((0.8, 2.0), (1.2, 2.2), batch="B7")])
    row = due(make, make.working({"batch": "B7"}), fits, area).row(0, named=True)
    assert (row["due_on"], row["overdue_days"], row["action"]) == (make.as_of, 0.0, "measure")
    assert row["optimal_age"] == row["age"]
    assert "new ones pay at once" in row["reason"]
    same = due(make, make.working({"batch": "B7"}), fits, area, new_parts="same")
    assert same["action"].to_list() == ["leave"]


def test_never_in_part_of_the_region_leaves_the_later_date_open(make):
    area = make.regions((0.9, 20.0), (2.0, 15.0), (4.0, 14.0))
    row = due(make, make.working(), regions=area).row(0, named=True)
    assert row["due_low"] is not None
    assert row["due_high"] is None


def test_draws_give_weighted_quantiles(make):
    scales = np.arange(100, 200) / 10.0
    area = make.regions(*((3.0, scale) for scale in scales))
    area = area.with_columns(weight=pl.Series(np.where(scales < 15.0, 1.0, 0.0)))
    row = due(make, make.working(), regions=area, new_parts="same").row(0, named=True)
    share = float(age_replacement_weibull(3.0, 1.0, 40.0, 200.0).age)
    # fifty draws from 10.0 to 14.9 count: the third and the forty-eighth
    for limit, scale in (("due_low", 10.2), ("due_high", 14.7)):
        expected = date(2020, 7, 1) + timedelta(days=round(share * scale * make.year))
        assert row[limit] == max(expected, make.as_of)
    grow = ((2191 + 730.5) ** 3 - 2191**3) / (14.7 * make.year) ** 3
    assert row["p_fail_low"] == pytest.approx(1 - math.exp(-grow), rel=1e-9)


LIMITS = ("p_fail_low", "p_fail_high", "due_low", "due_high")


@pytest.mark.parametrize(
    ("cut_off", "known"),
    [
        ([], set(LIMITS)),
        ([(3.0, 16.0)], set(LIMITS)),  # within what the others give: nothing lost
        ([(0.02, 1e9)], {"p_fail_high", "due_low"}),  # flat without end: rare failures, or never
        ([(400.0, 7.0)], {"p_fail_low", "due_low", "due_high"}),  # steep without end, just ahead
        ([(400.0, 30.0)], {"p_fail_high", "due_low"}),  # steep without end, far ahead
    ],
    ids=["nowhere", "inside", "flat", "steep and near", "steep and far"],
)
def test_an_extreme_where_the_region_was_cut_off_is_no_limit(make, cut_off, known):
    area = pl.concat([make.around, make.regions(*cut_off)])
    area = area.with_columns(open=pl.Series([False] * 5 + [True] * len(cut_off)))
    row = due(make, make.working(), regions=area).row(0, named=True)
    assert {name for name in LIMITS if row[name] is not None} == known
    assert row["p_fail"] is not None


def test_without_a_region_there_are_no_limits_but_an_answer(make):
    row = due(make, make.working(), regions=empty_frame(REGION)).row(0, named=True)
    assert [row[c] for c in ("p_fail_low", "p_fail_high", "due_low", "due_high")] == [None] * 4
    assert row["p_fail"] > 0
    assert row["action"] == "recap_when_due"


def test_most_urgent_first(make):
    units = make.working(
        {"started": date(2024, 1, 1), "unit": "later"},
        {"started": date(2008, 1, 1), "unit": "old"},
        {"started": date(2022, 1, 1), "unit": "sooner"},
        {"model": "XX", "unit": "unknown"},
        {"started": date(2012, 1, 1), "unit": "younger"},
        {"failed_once": True, "unit": "failed"},
        {"started": date(2023, 1, 1), "last_known_working": date(2023, 2, 1), "unit": "silent"},
    )
    found = due(make, units)
    assert found["unit"].to_list() == [
        "old", "younger", "failed", "silent", "sooner", "later", "unknown",
    ]  # fmt: skip
    ranks = [ACTIONS.index(action) for action in found["action"]]
    assert ranks == sorted(ranks)


def test_no_units_give_an_empty_due_list(make):
    found = due(make, empty_frame(WORKING))
    assert found.schema == DUE
    assert found.is_empty()


def test_no_estimates_at_all(make):
    found = due(make, make.working({}, {}), empty_frame(ESTIMATES), empty_frame(REGION))
    assert found.height == 2
    assert set(found["action"]) == {"leave"}


@pytest.mark.parametrize("horizon", [0.0, -1.0, float("nan"), float("inf")])
def test_a_horizon_is_above_zero(make, horizon):
    with pytest.raises(BadInput, match="horizon"):
        due(make, make.working(), horizon_years=horizon)


def test_what_cannot_be_is_refused(make):
    with pytest.raises(BadInput, match="choose typical or same"):
        due(make, make.working(), new_parts="better")
    with pytest.raises(BadFrame, match="working table has no column unit"):
        due(make, make.working().drop("unit"))
    with pytest.raises(BadFrame, match="two rows for model"):
        due(make, make.working(), costs=pl.concat([make.costs, make.costs]))


def test_the_callers_frames_stay_as_they_were(make):
    frames = [make.working({}, {"batch": "B7"}), make.estimates(), make.around, make.costs]
    before = [frame.clone() for frame in frames]
    due_list(*frames, as_of=make.as_of)
    assert all(frame.equals(old) for frame, old in zip(frames, before, strict=True))


days_ago = st.integers(0, 15_000)
unit_fields = st.fixed_dictionaries(
    {
        "started": st.none() | days_ago.map(lambda n: date(2026, 7, 1) - timedelta(days=n)),
        "last_known_working": st.none()
        | days_ago.map(lambda n: date(2026, 7, 1) - timedelta(days=n)),
        "parts": st.sampled_from(["original", "replaced_known", "replaced_unknown", "partial"]),
        "batch": st.sampled_from([None, "B1", "B2", "B9"]),
        "model": st.sampled_from(["BK3", "DH9", "XX"]),
        "failed_once": st.booleans(),
    }
)
fit_fields = st.fixed_dictionaries(
    {
        "shape": st.floats(0.4, 8.0),
        "shape_low": st.none() | st.floats(0.1, 3.0),
        "shape_high": st.none() | st.floats(3.0, 20.0),
        "scale": st.floats(300.0, 20_000.0),
        "oldest_age": st.none() | st.floats(100.0, 10_000.0),
        "failures": st.floats(1.0, 50.0),
        "exists": st.booleans(),
        "prompt_share": st.none() | st.floats(0.0, 1.0),
    }
)
money = st.none() | st.floats(0.0, 500.0)


@given(
    units=st.lists(unit_fields, min_size=1, max_size=6),
    fits=st.tuples(fit_fields, fit_fields, fit_fields),
    costs=st.tuples(money, money),
    new_parts=st.sampled_from(["typical", "same"]),
)
def test_every_unit_gets_one_sound_row(make, units, fits, costs, new_parts):
    names = ({"batch": "B1"}, {"parts": "replaced"}, {})
    fits = make.estimates(*({**fit, **name} for fit, name in zip(fits, names, strict=True)))
    prices = make.costs.with_columns(
        pl.lit(costs[0], dtype=pl.Float64).alias("planned_cost"),
        pl.lit(costs[1], dtype=pl.Float64).alias("failure_cost"),
    )
    found = due(make, make.working(*units), fits, costs=prices, new_parts=new_parts)
    check_frame(found, DUE, name="due")
    assert sorted(found["unit"]) == sorted(f"U{n + 1}" for n in range(len(units)))
    for row in found.iter_rows(named=True):
        assert row["action"] in ACTIONS
        assert row["reason"].endswith(".")
        assert not any(bad in row["reason"] for bad in ("inf ", "nan", "null", "None", "{}"))
        assert (row["due_on"] is None) == (row["optimal_age"] is None)
        assert (row["due_on"] is None) == (row["overdue_days"] is None)
        if row["due_on"]:
            assert row["due_on"] >= make.as_of
            assert row["due_low"] is None or row["due_low"] <= row["due_on"]
            assert row["due_high"] is None or row["due_high"] >= row["due_on"]
        for low, high in (("p_fail_low", "p_fail"), ("p_fail", "p_fail_high")):
            if row[low] is not None and row[high] is not None:
                assert 0 <= row[low] <= row[high] <= 1
        if row["action"] == "recap_now":
            assert row["due_on"] == make.as_of
