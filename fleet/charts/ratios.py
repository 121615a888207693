"""How many times as long each group lasts as the one they are measured by."""

from collections.abc import Sequence

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_ratios` reads besides the group columns; null: no estimate, or open on that side.
RATIOS = pl.Schema({"ratio": pl.Float64, "ratio_low": pl.Float64, "ratio_high": pl.Float64})

_ROW = 34  # pixels of height a group
_AXES = 90
_WIDEST = 100.0  # a limit further off than this factor is drawn as open
_TICKS = (0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50, 100)
_FINE = (0.25, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.2, 1.5, 2, 2.5, 3, 4)


def draw_ratios(ratios: pl.DataFrame, *, by: Sequence[str]) -> alt.LayerChart:
    """One line for each group from its lower to its upper limit, a dot at the ratio.

    Parameters
    ----------
    ratios
        `by` columns and RATIOS; the first row is the group the others are measured by.
    by
        Group columns.

    Returns
    -------
    Ratios run by ratio, so that half and twice as long are equally far from as long. A side
    without a limit is dotted to the edge of the chart.
    """
    check_frame(ratios, RATIOS, name="ratios")
    named = theme.name_groups(ratios, by)
    first = str(named["group"][0]) if named.height else ""
    low, high = _reach(named)
    placed = named.with_columns(
        from_=pl.col("ratio_low").clip(low, high),
        to=pl.col("ratio_high").clip(low, high),
    ).with_columns(
        middle_low=pl.coalesce("from_", "ratio", "to", pl.lit(1.0)).clip(low, high),
        middle_high=pl.coalesce("to", "ratio", "from_", pl.lit(1.0)).clip(low, high),
        low_edge=pl.lit(low),
        high_edge=pl.lit(high),
    )
    others = placed.slice(1)
    y = alt.Y("group:N", title=None, sort=named["group"].to_list(), axis=alt.Axis(labelLimit=150))
    title, scale = f"Times as long as {first}", _scale(low, high)
    x = alt.X(
        "ratio:Q",
        title=title,
        scale=scale,
        axis=alt.Axis(values=_ticks(low, high), format="~g", grid=True),
    )
    tooltip = [
        alt.Tooltip("group:N", title="Group"),
        alt.Tooltip("ratio:Q", title="Times as long", format=".2f"),
        alt.Tooltip("ratio_low:Q", title="at least", format=".2f"),
        alt.Tooltip("ratio_high:Q", title="at most", format=".2f"),
    ]
    blue = theme.COLOURS[0]

    def stretch(frame: pl.DataFrame, start: str, end: str, dash: list[int]) -> alt.Chart:
        # a layer without marks has no name a screen reader could say
        spoken = not frame.is_empty()
        mark = alt.Chart(frame).mark_rule(strokeWidth=2.5, strokeDash=dash, color=blue, aria=spoken)
        across = alt.X(f"{start}:Q", scale=scale, title=title)
        drawn: alt.Chart = mark.encode(x=across, x2=f"{end}:Q", y=y, tooltip=tooltip)
        return drawn

    seen = others.filter(pl.any_horizontal(pl.col(*RATIOS).is_not_null()))
    same = (
        alt.Chart(pl.DataFrame({"ratio": [1.0]}))
        .mark_rule(strokeDash=[4, 4], color=theme.COLOURS[-1])
        .encode(x=x)
    )
    layers = [
        same,
        stretch(seen, "middle_low", "middle_high", [1, 0]),
        stretch(seen.filter(pl.col("ratio_low").is_null()), "low_edge", "middle_low", [2, 4]),
        stretch(seen.filter(pl.col("ratio_high").is_null()), "middle_high", "high_edge", [2, 4]),
        alt.Chart(placed.filter(pl.col("ratio").is_between(low, high)))
        .mark_point(size=90, filled=True, opacity=1, color=blue)
        .encode(x=x, y=y, tooltip=tooltip),
    ]
    return alt.LayerChart(layer=layers).properties(height=_ROW * max(named.height, 1) + _AXES)


def _ticks(low: float, high: float) -> list[float]:
    wide = low < _FINE[0] or high > _FINE[-1]
    return [tick for tick in (_TICKS if wide else _FINE) if low <= tick <= high]


def _scale(low: float, high: float) -> alt.Scale:
    return alt.Scale(type="log", domain=[low, high], nice=False)


def _reach(named: pl.DataFrame) -> tuple[float, float]:
    """The ends of the axis: a little beyond all limits, but within a factor of _WIDEST."""
    values = pl.concat([named[c].drop_nulls() for c in RATIOS.names()])
    values = values.filter(values > 0.0)
    least = float(values.min() or 1.0)  # type: ignore[arg-type]
    most = float(values.max() or 1.0)  # type: ignore[arg-type]
    low, high = min(least / 1.15, 0.5), max(most * 1.15, 2.0)
    return max(low, 1.0 / _WIDEST), min(high, _WIDEST)
