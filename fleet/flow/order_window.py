"""The window that parts are ordered for: its jobs, its machines, and those that may join it."""

import calendar
import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.decisions.spares import Masses, failing_machines
from fleet.errors import BadInput, NotKnown

MONTHS = 3  # of the plan that an order is for unless said otherwise
_JOBS = ("unit", "model", "on", "p_fail_before")
_NO_PARTS = ("measure", "check_in", "leave")  # what asks for no parts yet


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Window:
    """`jobs` (unit, model, on and p_fail_before: null where none is planned) up to `until`, and
    `next_jobs` up to `next_until`, as long again. `notes`: what was taken for granted.
    """

    as_of: date
    until: date
    next_until: date
    jobs: pl.DataFrame
    next_jobs: pl.DataFrame
    planned: bool
    notes: tuple[str, ...] = field(default=())

    @property
    def next_from(self) -> date:
        """First day of the next window's jobs, else the day after this window."""
        first = self.next_jobs["on"].min()
        return first if isinstance(first, date) else date.fromordinal(self.until.toordinal() + 1)


def last_day(as_of: date, *, until: date | None, months: int | None) -> date:
    """The last day of the window. Raises BadInput for one that is past, or asked for twice."""
    if until is not None and months is not None:
        raise BadInput("the window's end is given twice; give a last day or a number of months")
    if until is not None:
        if until < as_of:
            raise BadInput(f"the window would end on {until}, before {as_of}; give a later day")
        return until
    count = MONTHS if months is None else months
    if not 1 <= count <= 120:
        raise BadInput(f"{count} months cannot be ordered for; give 1 to 120")
    return _months_on(as_of, count)


def planned_window(jobs: pl.DataFrame, *, as_of: date, until: date) -> Window:
    """The window of a plan's `jobs` (frames.JOBS): those that begin by `until`."""
    ahead = date.fromordinal(2 * until.toordinal() - as_of.toordinal())
    opened = jobs.filter(pl.col("action").is_in(_NO_PARTS).not_().fill_null(value=True))
    left = jobs.filter(pl.col("on") <= until).height
    named = opened.select(_JOBS)
    this = named.filter(pl.col("on") <= until)
    measured = left - this.height
    notes = []
    if measured:
        what = "job only measures" if measured == 1 else "jobs only measure"
        notes.append(f"{measured} {what} or look: no parts are ordered for that.")
    return Window(
        as_of=as_of,
        until=until,
        next_until=ahead,
        jobs=this,
        next_jobs=named.filter((pl.col("on") > until) & (pl.col("on") <= ahead)),
        planned=True,
        notes=tuple(notes),
    )


def named_window(
    units: pl.DataFrame, reports: pl.DataFrame, names: Sequence[str], *, as_of: date, until: date
) -> Window:
    """A window of machines named by hand, outside any plan. Raises NotKnown for one unheard of."""
    wanted = list(dict.fromkeys(names))
    one = units.unique("unit", keep="last", maintain_order=True)
    missing = [name for name in wanted if name not in set(one["unit"])]
    if missing:
        raise NotKnown(
            f"there is no machine {', '.join(missing)} in the store; check the spelling, or enter "
            "it with `fleet add unit`"
        )
    jobs = (
        one.filter(pl.col("unit").is_in(wanted))
        .select(
            "unit",
            "model",
            pl.lit(None, dtype=pl.Date).alias("on"),
            pl.lit(None, dtype=pl.Float64).alias("p_fail_before"),
        )
        .sort("model", "unit")
    )
    return Window(
        as_of=as_of,
        until=until,
        next_until=until,
        jobs=jobs,
        next_jobs=jobs.clear(),
        planned=False,
        notes=_gone(reports, wanted),
    )


def _gone(reports: pl.DataFrame, names: Sequence[str]) -> tuple[str, ...]:
    """A sentence on machines last reported as retired."""
    last = reports.sort("date_latest", nulls_last=False).unique("unit", keep="last")
    retired = last.filter(pl.col("unit").is_in(list(names)) & (pl.col("kind") == "retired"))
    if retired.is_empty():
        return ()
    listed = ", ".join(retired["unit"].sort())
    return (f"{listed}: last reported as retired; parts are ordered all the same",)


def places_in(jobs: pl.DataFrame, chosen: pl.DataFrame, orderable: pl.DataFrame) -> pl.DataFrame:
    """Places to fill (decisions.order.PLACES): every position of each machine's model.

    `chosen`: model, position, part; `orderable`: model, position, those that may be ordered for.
    """
    machines = jobs.group_by("model").agg(pl.len().cast(pl.Int64).alias("units"))
    return (
        chosen.join(orderable, on=["model", "position"], how="semi")
        .join(machines, on="model")
        .select("model", "position", "part", "units")
        .sort("model", "position")
    )


def failing_by_model(
    store: Path, *, as_of: date, until: date, planned: Collection[str]
) -> tuple[Mapping[str, Masses], tuple[str, ...]]:
    """By model, masses of the number of other machines that fail by `until`, and sentences.

    Counted are machines without a job in the window, each with (1 - p_failed_unseen) p_fail of the
    due list, taken to fail independently of one another.
    """
    from fleet.flow.due import due

    years = max((until - as_of).days, 4) / DAYS_PER_YEAR
    others = due(store, as_of=as_of, horizon_years=years).frame.filter(
        pl.col("unit").is_in(list(planned)).not_()
    )
    chance = (1.0 - pl.col("p_failed_unseen").fill_null(0.0)) * pl.col("p_fail")
    known = others.select("model", chance.alias("chance")).drop_nulls("chance")
    laws = {
        str(model): failing_machines(mine["chance"].clip(0.0, 1.0).to_numpy())
        for (model,), mine in known.group_by("model", maintain_order=True)
    }
    notes = []
    unknown = others.height - known.height
    if unknown:
        what = "machine's chance" if unknown == 1 else "machines' chances"
        notes.append(f"Spares leave out {unknown} {what} of failing: nobody knows enough of it.")
    return laws, tuple(notes)


def surprises_expected(laws: Mapping[str, Masses], models: Collection[str]) -> float:
    """Machines of `models` expected to fail unplanned."""
    return math.fsum(
        float(count * mass)
        for model, law in laws.items()
        if model in models
        for count, mass in enumerate(law)
    )


def _months_on(day: date, months: int) -> date:
    """The same day some months on, or the last of a shorter month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))
