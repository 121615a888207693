"""The pictures of the group report, each as SVG text."""

from datetime import date

import polars as pl

from fleet.charts.due_dates import count_by_quarter, draw_due_dates
from fleet.charts.expected_failures import draw_expected_failures
from fleet.charts.picture import Drawn, as_picture
from fleet.charts.survival import draw_survival

_YEARS = 8
_MOST_CURVES = 6  # more can be told apart on a screen, hardly on paper


def draw_report_pictures(
    *, due: pl.DataFrame, curves: pl.DataFrame, quarters: pl.DataFrame, as_of: date
) -> dict[str, bytes]:
    """SVG by name: `due` (work by quarter), `expected`, `curves` (the models with most failures).

    `due`: frames.DUE; `curves`: frames.CURVE with a column model, ages in years; `quarters`: those
    of flow.expected. A frame without rows gives no picture.
    """
    drawn: dict[str, Drawn] = {}
    until = as_of.replace(year=as_of.year + _YEARS, day=1)
    if not due.is_empty() and not count_by_quarter(due, until=until).is_empty():
        drawn["due"] = draw_due_dates(due, until=until)
    if not quarters.is_empty():
        drawn["expected"] = draw_expected_failures(quarters)
    if not curves.is_empty():
        drawn["curves"] = draw_survival(_first(curves), by=("model",))
    return {name: as_picture(chart, "svg") for name, chart in drawn.items()}


def _first(curves: pl.DataFrame) -> pl.DataFrame:
    """The curves of the models with the most failures."""
    count = curves.group_by("model").agg(pl.col("failures").sum())
    named = count.sort("failures", "model", descending=[True, False]).head(_MOST_CURVES)
    return curves.filter(pl.col("model").is_in(named["model"].implode()))
