"""Failures to expect in each quarter to come, with limits."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_expected_failures` reads.
COUNTED = pl.Schema(
    {
        "model": pl.String(),  # null: all models
        "quarter_from": pl.Date(),
        "expected": pl.Float64(),
        "low": pl.Float64(),
        "high": pl.Float64(),
    }
)


def draw_expected_failures(counts: pl.DataFrame) -> alt.LayerChart:
    """A dot for the number expected and a stroke from its lower to its upper limit, by quarter.

    Models stand side by side within a quarter, told apart by colour and shape. Reads COUNTED;
    raises BadFrame, and BadInput for too many models to tell apart.
    """
    check_frame(counts, COUNTED, name="counts")
    quarter = pl.col("quarter_from")
    shown = counts.select(list(COUNTED)).with_columns(
        group=pl.col("model").fill_null("all models"),
        quarter=pl.format("{} Q{}", quarter.dt.year(), quarter.dt.quarter()),
    )
    names = theme.check_groups(shown)
    order = shown.sort("quarter_from")["quarter"].unique(maintain_order=True).to_list()
    x = alt.X(
        "quarter:O", title="Quarter", scale=alt.Scale(domain=order),
        axis=alt.Axis(labelAngle=-60, labelOverlap=True),
    )  # fmt: skip
    beside = alt.XOffset("group:N", scale=alt.Scale(domain=names))
    y = alt.Y("low:Q", title="Machines that fail", axis=alt.Axis(tickMinStep=1, format="d"))
    strokes = (
        alt.Chart(shown)
        .mark_rule(strokeWidth=2)
        .encode(x=x, xOffset=beside, y=y, y2="high:Q",
                color=theme.colour(names))
    )  # fmt: skip
    dots = (
        alt.Chart(shown)
        .mark_point(filled=True, size=80, opacity=1.0)
        .encode(
            x=x,
            xOffset=beside,
            y=alt.Y("expected:Q"),
            color=theme.colour(names),
            shape=theme.shape(names),
            tooltip=[
                alt.Tooltip("group:N", title="Model"),
                alt.Tooltip("quarter:O", title="Quarter"),
                alt.Tooltip("expected:Q", title="Expected", format=".1f"),
                alt.Tooltip("low:Q", title="at least", format="d"),
                alt.Tooltip("high:Q", title="at most", format="d"),
            ],
        )
    )
    return alt.LayerChart(layer=[strokes, dots]).properties(height=theme.HEIGHT - 40)
