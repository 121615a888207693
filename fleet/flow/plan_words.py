"""A plan in sentences."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

from fleet.decisions.plan import FORWARD, TOLERANCE, Placed
from fleet.decisions.plan_spread import Count
from fleet.decisions.policies import Policy
from fleet.flow.expected_words import between, tenths
from fleet.flow.plan_bench import AtBench

_NAMED_MONTHS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lost:
    """What changes when a month has no hours, known beforehand.

    `jobs` it had; `moved`: jobs that change their month; `left_out`: that find no place any more;
    `later_by`: months by which the lost month's jobs move, on average; `cost` and `failures`: more
    of them expected; `moves`: unit and on_if_lost (null: after the plan).
    """

    month: str
    jobs: int
    moved: int
    left_out: int
    later_by: float
    cost: float
    failures: float
    moves: pl.DataFrame


def plan_words(
    jobs: pl.DataFrame | None,
    first: pl.DataFrame,
    bench: AtBench,
    *,
    placed: Placed | None = None,
    later: pl.DataFrame | None = None,
    counts: Mapping[str, Count] | None = None,
    lost: Sequence[Lost] = (),
) -> tuple[str, ...]:
    """What is done when, how many fail before, what is left, and what a lost month changes."""
    said = []
    if jobs is None or placed is None or later is None or counts is None:
        said.append("No machine is due for a recap within the plan.")
    else:
        said.append(_work(jobs, placed, bench))
        said.extend(_failing(counts))
        if later.height:
            said.append(_left(later, counts["left"], bench))
        said.extend(_lost(one, bench) for one in lost)
    if first.height:
        said.append(_first(first))
    return tuple(said)


def _months(jobs: pl.DataFrame) -> str:
    """The months that have jobs, as "2026-07 and 2026-09" or "5 months, 2026-07 to 2027-01"."""
    names = jobs["window"].unique().sort().to_list()
    if len(names) <= _NAMED_MONTHS:
        return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))
    return f"{len(names)} months between {names[0]} and {names[-1]}"


def _work(jobs: pl.DataFrame, placed: Placed, bench: AtBench) -> str:
    hours, money = placed.problem.used(placed.month)
    if jobs.is_empty():
        return "No job finds a place in the plan."
    begins, ends = (day.isoformat() for day in (jobs.item(0, "on"), jobs.item(-1, "on")))
    sessions = jobs.select(pl.struct("window", "model").n_unique()).item()
    return (
        f"{_machines(jobs.height)} in {_months(jobs)}, the first on "
        f"{begins}, the last from {ends} on: {hours.sum():,.1f} hours at the "
        f"bench, getting ready {_counted(sessions, 'time')} included, and "
        f"{_money(float(money.sum()), bench)}."
    )


def _failing(counts: Mapping[str, Count]) -> list[str]:
    planned, nothing = counts["planned"], counts["nothing"]
    said = []
    if planned.units:
        said.append(
            f"Of the {planned.units:,} planned, {_about(planned)} will fail before their day."
        )
    said.append(f"If nothing were done, {_about(nothing)} of all {nothing.units:,} would fail by "
                "the end of the plan.")  # fmt: skip
    return said


def _left(later: pl.DataFrame, count: Count, bench: AtBench) -> str:
    what = "machine that is due finds" if later.height == 1 else "machines that are due find"
    cost = _money(float(later["cost_of_moving"].sum()), bench)
    return (
        f"{later.height:,} {what} no place before the plan ends; {_about(count)} of them will fail "
        f"by then, and the wait is expected to cost {cost}."
    )


def _lost(lost: Lost, bench: AtBench) -> str:
    if not lost.jobs:
        return f"Were {lost.month} lost, nothing would change: it has no jobs."
    moved = _counted(lost.moved, "job")
    out = f" and {lost.left_out:,} would find no place" if lost.left_out else ""
    by = ""
    if abs(lost.later_by) >= 0.05:
        way = "later" if lost.later_by > 0 else "earlier"
        by = f" (its own {abs(lost.later_by):.1f} months {way}, on average)"
    more = max(lost.failures, 0.0)
    fail = f"about {more:.2g} more failures" if more >= 0.005 else "hardly a failure more"
    return (
        f"Were {lost.month} lost, with its {_counted(lost.jobs, 'job')}, {moved} would change "
        f"month{by}{out}. Known beforehand, that costs {_money(max(lost.cost, 0.0), bench)} and "
        f"{fail} (expected)."
    )


def _first(first: pl.DataFrame) -> str:
    counts = dict(first.group_by("action").len().iter_rows())
    said = []
    if n := counts.get("measure", 0):
        said.append(f"{n:,} should be measured before anything is decided")
    if n := counts.get("check_in", 0):
        said.append(f"{n:,} not heard of for long should be asked after")
    return (
        f"Not planned yet, though their date lies within the plan: {' and '.join(said)}. "
        "They come in once that is logged."
    )


def foot_words(placed: Placed, bench: AtBench, policy: Policy) -> tuple[str, ...]:
    """What the plan rests on."""
    problem = placed.problem
    whole = float(problem.spend[problem.model].sum())
    gap = placed.solution.gap
    share = 100.0 * gap / whole
    near = (
        "No plan is cheaper"
        if gap <= 1e-6 * whole
        else f"No plan is cheaper by more than {_money(gap, bench)} ({share:.2g} % of what its "
        "jobs cost)"
    )
    saved = placed.by_date - placed.expected
    said = [
        f"{near}, reckoned in whole jobs and months, each month at its middle. Taking jobs by date "
        f"alone is expected to cost {_money(max(saved, 0.0), bench)} more.",
        "The first month is what is left of this one, with that part of its hours and budget. "
        "Hours and money left over in one month are not carried into the next.",
        f"No job comes more than {FORWARD} months before its date, however much getting ready it "
        "would save.",
        "`fleet order` says which machines cannot be finished with the parts that can be had.",
        "Within a month a model is done in one session; sessions follow one another at an even "
        "pace, and the day of a job is the first of its session.",
    ]
    if policy.rule != "cost":
        said.append(
            "The dates are the policy's: to be later costs the failures added, to be earlier the "
            "days of the present parts given away."
        )
    if share > 100.0 * TOLERANCE * 5:
        said.append("The bound is loose: a plan of fewer months is found more surely.")
    return tuple(said)


def _about(count: Count) -> str:
    what = f"about {tenths(count.expected)}" if count.expected >= 0.05 else "less than 0.1"
    return f"{what} ({between(count.low, count.high)})"


def _money(amount: float, bench: AtBench) -> str:
    text = f"{amount:,.0f}" if amount >= 100.0 else f"{amount:,.2f}"
    return f"{text} {bench.currency}".strip()


def _machines(count: int) -> str:
    return "1 machine is done" if count == 1 else f"{count:,} machines are done"


def _counted(number: int, one: str) -> str:
    return f"{number:,} {one if number == 1 else one + 's'}"
