"""What was said in advance beside what happened, by size of chance."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_calibration` reads; shares from 0 to 1.
CALIBRATION = pl.Schema(
    {
        "predicted": pl.Float64(),
        "happened": pl.Float64(),
        "happened_low": pl.Float64(),
        "happened_high": pl.Float64(),
        "cases": pl.Float64(),
    }
)


def draw_calibration(bins: pl.DataFrame) -> alt.LayerChart:
    """One dot for each group of like chances: expected share across, failed share up, with limits.

    Dots on the dashed line came true. Rows without an outcome are not drawn. Reads CALIBRATION;
    raises BadFrame.
    """
    check_frame(bins, CALIBRATION, name="calibration")
    shares = pl.col("predicted", "happened", "happened_low", "happened_high")
    shown = bins.select(list(CALIBRATION)).drop_nulls().with_columns(shares * 100.0)
    ends = (shown["predicted"].max(), shown["happened_high"].max())
    top = max([5.0, *(float(end) for end in ends if isinstance(end, float))])
    scale = alt.Scale(domain=[0.0, min(100.0, top * 1.05)], nice=False)
    x = alt.X(
        "predicted:Q", title="Expected to fail (of 100 machines)", scale=scale,
        axis=alt.Axis(grid=False, tickCount=8),
    )  # fmt: skip
    y = alt.Y("happened:Q", title="Failed (of 100 machines)", scale=scale)
    line = (
        alt.Chart(pl.DataFrame({"predicted": [0.0, 100.0], "happened": [0.0, 100.0]}))
        .mark_line(strokeDash=list(theme.DASHES[1]), color=theme.COLOURS[5], clip=True)
        .encode(x=x, y=y)
    )
    rules = (
        alt.Chart(shown)
        .mark_rule(color=theme.COLOURS[0], strokeWidth=2)
        .encode(x=x, y=alt.Y("happened_low:Q", scale=scale), y2="happened_high:Q")
    )
    dots = (
        alt.Chart(shown)
        .mark_point(color=theme.COLOURS[0], filled=True, size=90, opacity=1.0)
        .encode(
            x=x,
            y=y,
            tooltip=[
                alt.Tooltip("predicted:Q", title="Expected (of 100)", format=".1f"),
                alt.Tooltip("happened:Q", title="Failed (of 100)", format=".1f"),
                alt.Tooltip("happened_low:Q", title="at least", format=".1f"),
                alt.Tooltip("happened_high:Q", title="at most", format=".1f"),
                alt.Tooltip("cases:Q", title="Chances given", format=".0f"),
            ],
        )
    )
    return alt.LayerChart(layer=[line, rules, dots]).properties(height=theme.HEIGHT - 40)
