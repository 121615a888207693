"""The four layers of a curve with limits: band, faint stretches, line and end mark."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import polars as pl

from fleet.charts import theme


def draw_layers(
    data: pl.DataFrame,
    *,
    x: alt.X,
    y: alt.Y,
    limits: tuple[str, str],
    names: Sequence[str],
    tooltip: Sequence[alt.Tooltip],
    look: dict[str, Any],
    among: Sequence[str] = (),
) -> alt.LayerChart:
    """Thinned `data` (group, age, supported, what `y` and `limits` name) as one chart.

    `look` goes to every mark with a line or an area: how points are joined, whether it is cut off.
    `among`: as theme.colour takes it.
    """
    # Layers without rows are hidden from screen readers: they have no name to say.
    whole, ends, rest = theme.split(data)
    colour, dash = theme.colour(names, among=among), theme.dash(names, among=among)
    plain = theme.colour(names, among=among, with_legend=False)
    low, high = limits
    band = (
        alt.Chart(whole)
        .mark_area(opacity=0.16, aria=not whole.is_empty(), **look)
        .encode(x=x, y=alt.Y(f"{low}:Q"), y2=f"{high}:Q", color=colour)
    )
    line = (
        alt.Chart(whole)
        .mark_line(strokeWidth=2, aria=not whole.is_empty(), **look)
        .encode(x=x, y=y, color=plain, strokeDash=dash, detail="run:O", tooltip=tooltip)
    )
    faint = (
        alt.Chart(rest)
        .mark_line(
            strokeWidth=1.5, strokeDash=[2, 4], opacity=0.9, aria=not rest.is_empty(), **look
        )
        .encode(x=x, y=y, color=plain, detail="run:O", tooltip=tooltip)
    )
    mark = (
        alt.Chart(ends)
        .mark_point(size=70, filled=True, opacity=1, aria=not ends.is_empty())
        .encode(x=x, y=y, color=colour, shape=theme.shape(names, among=among), tooltip=tooltip)
    )
    return alt.LayerChart(layer=[band, faint, line, mark]).properties(height=theme.HEIGHT)
