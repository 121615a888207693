"""How long a part would last, by the air beside it."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_part_life` reads; years_by_rule is before the cap.
PART_LIFE = pl.Schema({"air_c": pl.Float64(), "years": pl.Float64(), "years_by_rule": pl.Float64()})
_MOST_OVER = 2.0  # how far above the capped years the rule's own line is drawn


def draw_part_life(lives: pl.DataFrame, *, air_c: float) -> alt.LayerChart:
    """Years by air in °C: what is claimed as a line, the rule beyond its cap dashed, a dot at
    `air_c`. Reads PART_LIFE; raises BadFrame.
    """
    check_frame(lives, PART_LIFE, name="lives")
    shown = lives.select(list(PART_LIFE)).drop_nulls().sort("air_c")
    longest = shown["years"].max()
    top = _MOST_OVER * float(longest) if isinstance(longest, float) else 1.0
    x = alt.X(
        "air_c:Q", title="Air beside the part (°C)", scale=alt.Scale(zero=False, nice=False),
        axis=alt.Axis(grid=False),
    )  # fmt: skip
    scale = alt.Scale(domain=[0.0, top], nice=False, clamp=False)
    base = alt.Chart(shown).encode(x=x)
    rule = base.mark_line(
        strokeDash=list(theme.DASHES[1]), color=theme.COLOURS[5], clip=True
    ).encode(y=alt.Y("years_by_rule:Q", scale=scale))
    line = base.mark_line(color=theme.COLOURS[0], clip=True).encode(
        y=alt.Y("years:Q", title="Years of service, at most", scale=scale),
        tooltip=[
            alt.Tooltip("air_c:Q", title="Air (°C)", format=".0f"),
            alt.Tooltip("years:Q", title="Years at most", format=".1f"),
            alt.Tooltip("years_by_rule:Q", title="Years by the rule alone", format=".1f"),
        ],
    )
    near = shown.filter((pl.col("air_c") - air_c).abs() == (pl.col("air_c") - air_c).abs().min())
    dot = (
        alt.Chart(near.head(1))
        .mark_point(color=theme.COLOURS[0], filled=True, size=90, opacity=1.0)
        .encode(x=x, y=alt.Y("years:Q", scale=scale))
    )
    return alt.LayerChart(layer=[rule, line, dot]).properties(height=theme.HEIGHT - 40)
