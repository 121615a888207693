"""Curve points beside the fitted line, on axes that make Weibull lives straight."""

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from fleet.flow.answers import choose_parts, grouping
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.table import Settings, Table


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class PaperAnswer:
    """Points and line, both the group columns and fits.weibull_paper.PAPER, and sentences."""

    points: pl.DataFrame
    line: pl.DataFrame
    notes: tuple[str, ...] = ()


def paper(
    table: Table,
    *,
    by: Sequence[str] | None = None,
    level: float = 0.95,
    settings: Settings | None = None,
) -> PaperAnswer:
    """What charts.draw_weibull_paper draws; ages as in the table.

    Groups of nothing but failures, collected since nobody knows when, are left out with a
    sentence. Raises BadInput.
    """
    from fleet.fits.weibull_paper import weibull_paper

    groups = grouping(table, by)
    chosen, notes = choose_parts(table, groups, settings)
    chosen, apart = set_apart(chosen, table, groups)
    drawn = weibull_paper(chosen, by=groups, level=level, unit=table.age_unit)
    said = (*notes, *what_failures_alone_tell(apart, groups), *drawn.notes)
    return PaperAnswer(points=drawn.points, line=drawn.line, notes=said)
