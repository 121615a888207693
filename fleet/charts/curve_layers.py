"""The four layers of a curve with limits: band, faint stretches, line and end mark."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import polars as pl

from fleet.charts import theme

_FEW, _WASH, _LITTLE_WASH = 2, 0.14, 0.04  # bands up to which, and how strongly, areas are filled


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
    legend = theme.line_legend(undrawn=_undrawn(data, names, height=y.shorthand))
    colour = theme.colour(names, among=among, own_legend=legend)
    dash = theme.dash(names, among=among, own_legend=legend)
    plain = theme.colour(names, among=among, with_legend=False)
    low, high = limits
    # Bands that lie over one another blend: of more than two, edges say more than a wash.
    wash = _WASH if len(names) <= _FEW else _LITTLE_WASH
    band = (
        alt.Chart(whole)
        .mark_area(
            fillOpacity=wash, strokeWidth=0.8, strokeOpacity=0.55, aria=not whole.is_empty(), **look
        )
        .encode(
            x=x,
            y=alt.Y(f"{low}:Q"),
            y2=f"{high}:Q",
            color=colour,
            stroke=theme.edge(names, among=among),
        )
    )
    line = (
        alt.Chart(whole)
        .mark_line(strokeWidth=2, aria=not whole.is_empty(), **look)
        .encode(x=x, y=y, color=colour, strokeDash=dash, detail="run:O", tooltip=tooltip)
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
        .encode(
            x=x,
            y=y,
            color=plain,
            shape=theme.shape(names, among=among, with_legend=False),
            tooltip=tooltip,
        )
    )
    layers = alt.LayerChart(layer=[band, faint, line, mark])
    # else the legend shows the marks and not the lines
    chart: alt.LayerChart = layers.resolve_legend(shape="independent")
    return chart.properties(height=theme.HEIGHT)


def _undrawn(data: pl.DataFrame, names: Sequence[str], *, height: str) -> list[str]:
    """Groups of which no stretch is drawn: it takes two points with a height."""
    counted = data.drop_nulls(height.removesuffix(":Q")).group_by("group").len()
    drawn = set(counted.filter(pl.col("len") > 1)["group"])
    return [name for name in names if name not in drawn]
