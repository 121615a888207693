"""Share failed by age on axes that make Weibull lives a straight line."""

from collections.abc import Sequence

import altair as alt
import numpy as np
import polars as pl

from fleet.charts import theme
from fleet.charts.thinning import thin_dots
from fleet.frames import check_frame

# What `draw_weibull_paper` reads besides the group columns; age in years.
PAPER = pl.Schema(
    {
        "age": pl.Float64,
        "share_failed": pl.Float64,
        "share_low": pl.Float64,
        "share_high": pl.Float64,
        "supported": pl.Boolean,
    }
)
# Shares at which the axis has a line.
_SHARES = (0.0001, 0.001, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 0.9, 0.99, 0.999)
_LOWEST, _HIGHEST = 1e-5, 0.9995
_AT = ("at", "at_low", "at_high")  # heights of a share and of its limits


def draw_weibull_paper(
    points: pl.DataFrame,
    line: pl.DataFrame,
    *,
    by: Sequence[str] = (),
    among: Sequence[str] = (),
) -> alt.LayerChart:
    """Points of the curve with their limits on the line of the fit with its own.

    Parameters
    ----------
    points, line
        `by` columns and PAPER, ages above 0 in years, in order of age within each group; a null
        limit is none. Lives that follow a Weibull keep to the line but for chance.
    by
        Group columns.
    among
        Names of all groups of the page, so that each looks the same on every chart.

    Returns
    -------
    Ages run by ratio, shares by log(-log(1 - share)). Raises BadInput for more than MOST_GROUPS
    groups.
    """
    check_frame(points, PAPER, name="points")
    check_frame(line, PAPER, name="line")
    dots = _placed(theme.name_groups(points, by))
    names = theme.check_groups(dots)
    fitted = _placed(theme.name_groups(line, by))
    dots = _told_apart(dots)
    colour = theme.colour(names, among=among)
    plain = theme.colour(names, among=among, with_legend=False)
    y = alt.Y(
        "at:Q",
        title="Share failed",
        scale=alt.Scale(domain=list(_ends(dots)), nice=False),
        axis=_share_axis(),
    )
    x = alt.X(
        "age:Q",
        title=f"{theme.AGE}, by ratio",
        scale=alt.Scale(type="log", nice=False),
        axis=alt.Axis(grid=True, tickCount=6, format="~g"),
    )
    tooltip = [
        alt.Tooltip("group:N", title="Group"),
        alt.Tooltip("age:Q", title="Age (years)", format=".1f"),
        alt.Tooltip("share_failed:Q", title="Failed", format=".1%"),
        alt.Tooltip("share_low:Q", title="at least", format=".1%"),
        alt.Tooltip("share_high:Q", title="at most", format=".1%"),
    ]
    band = (
        alt.Chart(fitted.filter(pl.col("at_low").is_not_null(), pl.col("at_high").is_not_null()))
        .mark_area(opacity=0.16, clip=True)
        .encode(x=x, y=alt.Y("at_low:Q"), y2="at_high:Q", color=colour)
    )
    straight = (
        alt.Chart(fitted)
        .mark_line(strokeWidth=2, clip=True)
        .encode(x=x, y=y, color=plain, strokeDash=theme.dash(names, among=among), tooltip=tooltip)
    )
    whiskers = (
        alt.Chart(dots.filter(pl.col("at_low").is_not_null(), pl.col("at_high").is_not_null()))
        .mark_rule(opacity=0.45, clip=True)
        .encode(x=x, y=alt.Y("at_low:Q"), y2="at_high:Q", color=plain)
    )
    marks = (
        alt.Chart(dots)
        .mark_point(size=45, filled=True, opacity=1, clip=True)
        .encode(x=x, y=y, color=colour, shape=theme.shape(names, among=among), tooltip=tooltip)
    )
    return alt.LayerChart(layer=[band, straight, whiskers, marks]).properties(height=theme.HEIGHT)


def _placed(named: pl.DataFrame) -> pl.DataFrame:
    """`named` with the height of each share and of its limits."""
    heights = [
        (-(-pl.col(column).clip(_LOWEST / 10, 1 - 1e-6)).log1p()).log().alias(name)
        for column, name in zip(("share_failed", "share_low", "share_high"), _AT, strict=True)
    ]
    return named.with_columns(heights)


def _told_apart(dots: pl.DataFrame) -> pl.DataFrame:
    """The dots that can be told from one another on the paper, their limits included."""
    if dots.is_empty():
        return dots
    low, high = _ends(dots)
    width = float(np.ptp(dots["age"].log().to_numpy()))
    # What leaves the paper is cut off at its edge, wherever it goes.
    placed = dots.with_columns(pl.col(_AT).clip(low, high), across=pl.col("age").log())
    kept = thin_dots(
        placed.with_row_index("row"), across="across", up=_AT, spans=(width, high - low)
    )
    return dots[kept["row"]]


def _ends(dots: pl.DataFrame) -> tuple[float, float]:
    """Heights a little below the lowest point and a little above the highest."""
    low = float(dots["share_failed"].min() or 0.01) / 3.0  # type: ignore[arg-type]
    high = float(dots["share_failed"].max() or 0.5)  # type: ignore[arg-type]
    low = min(max(low, _LOWEST), 0.01)
    high = max(min(1.0 - (1.0 - high) / 3.0, _HIGHEST), 0.5)
    return _place(low), _place(high)


def _place(share: float) -> float:
    return float(np.log(-np.log1p(-share)))


def _share_axis() -> alt.Axis:
    """Lines at plain shares, named in per cent."""
    steps = [round(_place(share), 6) for share in _SHARES]
    words = " : ".join(
        f"abs(datum.value - {at}) < 0.0001 ? '{100 * share:g} %'"
        for at, share in zip(steps, _SHARES, strict=True)
    )
    return alt.Axis(values=steps, labelExpr=f"{words} : ''", grid=True, labelOverlap=False)
