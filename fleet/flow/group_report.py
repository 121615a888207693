"""Everything a group reads together, gathered for one as-of date: each part with its sentences."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import FleetError
from fleet.flow.demo import is_invented
from fleet.flow.report_parts import (
    ReportPart,
    advice_part,
    batches_part,
    curves_part,
    due_part,
    expected_part,
    health_part,
    order_part,
    plan_part,
)
from fleet.flow.table import in_years

Step = Callable[[str], None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GroupReport:
    """`parts` in reading order. `due` (frames.DUE), `curves` (frames.CURVE by model, years) and
    `quarters` (flow.expected) are what its pictures are drawn from.
    """

    as_of: date
    invented: bool
    parts: tuple[ReportPart, ...]
    due: pl.DataFrame
    curves: pl.DataFrame
    quarters: pl.DataFrame


@dataclass(slots=True)
class _Gathered:
    parts: list[ReportPart] = field(default_factory=list)
    due: pl.DataFrame = field(default_factory=pl.DataFrame)
    curves: pl.DataFrame = field(default_factory=pl.DataFrame)
    quarters: pl.DataFrame = field(default_factory=pl.DataFrame)


def group_report(
    store: Path, *, as_of: date, quick: bool = False, step: Step | None = None
) -> GroupReport:
    """The report of a store as it was known on `as_of`.

    `quick` leaves out what takes longest: data health and the look back at past advice. `step` is
    told what is being done. A part that cannot be answered (no prices, no costs) says why in its
    place; the others stand. Sites, serial numbers and notes are in none of them.
    """
    tell = step or (lambda _: None)
    made = _Gathered()
    works: Sequence[tuple[str, str, Callable[[], ReportPart]]] = (
        ("Due list", "Working out what is due", lambda: _due(made, store, as_of)),
        ("Failures to expect", "Counting failures to come", lambda: _expected(made, store, as_of)),
        ("How long they last", "Fitting curves", lambda: _curves(made, store, as_of)),
        ("Batch or design?", "Holding batches against one another",
         lambda: _batches(store, as_of)),
        ("Plan", "Planning", lambda: _plan(store, as_of)),
        ("Order", "Counting parts", lambda: _order(store, as_of)),
        *(() if quick else (
            ("Data health", "Measuring what hurts the answers", lambda: _health(store, as_of)),
            ("How well past advice did", "Looking back", lambda: _advice(store, as_of)),
        )),
    )  # fmt: skip
    for title, doing, work in works:
        tell(doing)
        try:
            made.parts.append(work())
        except FleetError as error:
            made.parts.append(ReportPart(title=title, said=(f"No answer: {error}",)))
    return GroupReport(
        as_of=as_of,
        invented=is_invented(store),
        parts=tuple(made.parts),
        due=made.due,
        curves=made.curves,
        quarters=made.quarters,
    )


def _due(made: _Gathered, store: Path, as_of: date) -> ReportPart:
    from fleet.flow.due import due

    found = due(store, as_of=as_of)
    made.due = found.frame
    return due_part(found, as_of=as_of)


def _expected(made: _Gathered, store: Path, as_of: date) -> ReportPart:
    from fleet.flow.expected import expected_failures

    found = expected_failures(store, as_of=as_of)
    made.quarters = found.quarters
    return expected_part(found)


def _curves(made: _Gathered, store: Path, as_of: date) -> ReportPart:
    from fleet.flow.answers import lives, survival, weibull

    table = in_years(lives(store, as_of=as_of))
    points = survival(table, by=("model",))
    made.curves = points.frame
    return curves_part(points, weibull(table, by=("model",)))


def _batches(store: Path, as_of: date) -> ReportPart:
    from fleet.flow.suspects import suspects

    return batches_part(suspects(store, as_of=as_of))


def _plan(store: Path, as_of: date) -> ReportPart:
    from fleet.flow.plan import plan

    return plan_part(plan(store, as_of=as_of))


def _order(store: Path, as_of: date) -> ReportPart:
    from fleet.flow.order import order

    return order_part(order(store, as_of=as_of))


def _health(store: Path, as_of: date) -> ReportPart:
    from fleet.flow.checking import check

    return health_part(check(store, as_of=as_of))


def _advice(store: Path, as_of: date) -> ReportPart:
    from fleet.flow.backtest import look_back

    return advice_part(look_back(store, as_of=as_of))
