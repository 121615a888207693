"""The plan of the demo, through the chain."""

import re
from datetime import date

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.due import Policy, due
from fleet.flow.entering import create_store
from fleet.flow.plan import plan
from fleet.flow.plan_bench import at_bench
from fleet.frames import JOBS

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def on_demo(demo_store):
    return plan(demo_store, as_of=CUT)


@pytest.fixture(scope="module")
def due_list(demo_store):
    return due(demo_store, as_of=CUT).frame


def test_who_is_in_it(on_demo, due_list):
    end = on_demo.months["to"].max()
    recaps = due_list.filter(pl.col("action").str.starts_with("recap") & (pl.col("due_on") <= end))
    placed = [*on_demo.jobs["unit"], *on_demo.later["unit"]]
    assert len(placed) == len(set(placed))
    assert set(recaps["unit"]) <= set(placed)
    early = on_demo.jobs.filter(pl.col("due_on") > end)
    assert set(placed) - set(recaps["unit"]) == set(early["unit"])
    aside = due_list.filter(pl.col("action").is_in(["measure", "check_in"])
                            & (pl.col("due_on") <= end))  # fmt: skip
    assert set(on_demo.first["unit"]) == set(aside["unit"])


def test_jobs_keep_their_contract_and_their_limits(on_demo):
    assert dict(on_demo.jobs.schema) == dict(JOBS)
    # bench 18 hours, budget 420, getting ready 0.75 hours at 12 (the demo's shop); June has one day
    months = on_demo.months
    assert (months["hours"] + months["hours_free"]).to_list() == pytest.approx(
        [18 / 30] + [18.0] * 23
    )
    assert months.filter((pl.col("hours_free") < 0) | (pl.col("budget_free") < 0)).is_empty()
    again = (
        on_demo.jobs.group_by("window")
        .agg(jobs=pl.len(), hours=pl.col("hours").sum() + 0.75 * pl.col("model").n_unique(),
             cost=pl.col("cost").sum() + 9.0 * pl.col("model").n_unique())
        .sort("window")
    )  # fmt: skip
    busy = months.filter(pl.col("jobs") > 0)
    assert again["window"].to_list() == busy["month"].to_list()
    assert again["hours"].to_list() == pytest.approx(busy["hours"].to_list())
    assert again["cost"].to_list() == pytest.approx(busy["cost"].to_list())


def test_days_lie_in_their_months_and_models_do_not_overlap(on_demo):
    jobs, work = on_demo.jobs, on_demo.work
    assert (jobs["on"].dt.strftime("%Y-%m") == jobs["window"]).all()
    moved = (jobs["on"] - jobs["due_on"]).dt.total_days()
    assert moved.to_list() == jobs["moved_days"].to_list()
    for _, sessions in work.group_by("month"):
        ordered = sessions.sort("on")
        assert (ordered["on"][1:] >= ordered["to"][:-1]).all()
    assert (work["on"] <= work["to"]).all()


def test_moving_costs_nothing_less_than_nothing_and_is_least_when_it_is_free(demo_store, on_demo):
    assert on_demo.jobs["cost_of_moving"].min() >= 0.0
    free = plan(demo_store, as_of=CUT, hours_per_month=1e6, budget=1e9)
    assert free.jobs["cost_of_moving"].sum() < on_demo.jobs["cost_of_moving"].sum()
    # those that are overdue are done as soon as their parts are there, which is in July
    overdue = free.jobs.filter(pl.col("action") == "recap_now")
    assert set(overdue["window"]) == {"2026-07"}
    both = overdue.join(on_demo.jobs, on="unit", suffix="_bound")
    assert both.height == overdue.height
    assert (both["cost_of_moving"] <= both["cost_of_moving_bound"] + 1e-9).all()
    assert (overdue["on"] > date(2026, 7, 3)).all()  # four days is the fastest of the demo's parts


def test_fewer_hours_leave_machines_for_later_and_say_why(demo_store):
    tight = plan(demo_store, as_of=CUT, months=6, hours_per_month=5.0)
    assert tight.later.height > 0
    assert (tight.later["reason"].str.len_chars() > 10).all()
    assert any("no place before the plan ends" in said for said in tight.said)
    none = plan(demo_store, as_of=CUT, months=6, hours_per_month=0.9)
    assert none.jobs.is_empty()
    assert none.later["reason"].str.contains("than any month of the plan has").all()


def test_a_lost_month_costs_and_keeps_its_month_free(demo_store, on_demo):
    (fullest,) = on_demo.lost
    hours = on_demo.months.sort("hours", descending=True)
    assert fullest.month == hours["month"][0]
    assert fullest.cost >= -on_demo.gap - 1e-6
    lost = plan(demo_store, as_of=CUT, lose="2026-08")
    assert set(lost.jobs["unit"]) == set(on_demo.jobs["unit"])
    anew = lost.jobs["on_if_lost"].dt.strftime("%Y-%m")
    assert "2026-08" not in set(anew.drop_nulls())
    (change,) = lost.lost
    assert change.jobs == lost.jobs.filter(pl.col("window") == "2026-08").height > 0
    with pytest.raises(BadInput, match="from 2026-06 to 2028-05"):
        plan(demo_store, as_of=CUT, lose="2031-01")


def test_another_policy_has_its_own_dates(demo_store):
    risk = Policy(rule="risk", limit=0.05)
    found = plan(demo_store, as_of=CUT, policy=risk, months=6)
    listed = due(demo_store, as_of=CUT, policy=risk).frame
    dates = dict(listed.select("unit", "due_on").iter_rows())
    assert {u: dates[u] for u in found.jobs["unit"]} == dict(
        found.jobs.select("unit", "due_on").iter_rows()
    )
    assert any("The dates are the policy's" in note for note in found.notes)


def test_the_sentences_say_numbers_a_person_reads(on_demo):
    text = " ".join([*on_demo.said, *on_demo.notes])
    assert "XTS" in text
    assert "will fail before their day" in text
    assert "No plan is cheaper" in text
    assert not re.search(r"\b(nan|inf|None|null)\b", text)


def test_the_months_with_jobs_are_named(on_demo):
    months = on_demo.jobs["window"].unique().sort().to_list()
    lead = on_demo.said[0]
    assert f" in {months[0]}" in lead or f"between {months[0]} and {months[-1]}" in lead
    (lost,) = (text for text in on_demo.said if text.startswith("Were "))
    assert lost.count(". ") == 1
    assert ". Known beforehand, that costs" in lost


def test_a_job_that_waits_for_one_less_likely_to_fail_says_why(on_demo, due_list):
    jobs = on_demo.jobs
    chance = dict(due_list.select("unit", "p_fail").iter_rows())
    rows = [(chance[u], m, r) for u, m, r in jobs.select("unit", "window", "reason").iter_rows()]
    said = [(p, m) for p, m, reason in rows if "less likely to fail come before it" in reason]
    assert said
    for p, month in said:
        assert any(other < p and earlier < month for other, earlier, _ in rows)


def test_an_empty_store(tmp_path):
    store = tmp_path / "empty.duckdb"
    create_store(store)
    found = plan(store, as_of=CUT)
    assert found.jobs.is_empty()
    assert found.said == ("No machine is due for a recap within the plan.",)
    assert any("no limit of hours" in note for note in found.notes)


def test_what_the_records_of_the_bench_leave_open_is_said():
    """A shop in another currency, a model that does not say how long it takes; by hand."""
    shop = {
        "labour_rate": [12.0, None],
        "bench_hours_per_month": [18.0, 20.0],
        "budget": [420.0, None],
        "setup_hours": [0.75, None],
        "currency": ["XTS", "XXX"],
    }
    models = {
        "model": ["A", "B", "C"],
        "bench_hours": [1.0, None, 2.0],
        "currency": ["XTS", None, "XTS"],
    }
    records = {"shop": pl.DataFrame(shop), "models": pl.DataFrame(models)}
    found = at_bench(records, pl.Series(["A", "B", "A"]), hours_per_month=None, budget=None)
    # the last told counts, column by column
    assert (found.bench.hours, found.bench.budget) == (20.0, 420.0)
    assert (found.bench.setup_hours, found.bench.setup_cost) == (0.75, 9.0)
    assert dict(found.hours.iter_rows()) == {"A": 1.0, "B": 1.5}
    text = " ".join(found.notes)
    assert "Costs are in XTS and XXX" in text
    assert "How long B takes at the bench is not recorded: 1.5 hours are assumed" in text
    given = at_bench(records, pl.Series(["A"]), hours_per_month=5.0, budget=100.0)
    assert (given.bench.hours, given.bench.budget) == (5.0, 100.0)


def test_hours_and_months_that_cannot_be(demo_store):
    with pytest.raises(BadInput, match="give 1 to 120"):
        plan(demo_store, as_of=CUT, months=0)
    with pytest.raises(BadInput, match="a number above zero"):
        plan(demo_store, as_of=CUT, budget=float("nan"))
