"""Survival curves with their limits."""

from collections.abc import Sequence

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.charts.curve_layers import draw_layers
from fleet.charts.thinning import thin_steps
from fleet.frames import CURVE, check_frame

_SHARE = alt.Axis(format="%", tickCount=6)
_LIMITS = ("survival_low", "survival_high")


def draw_survival(
    points: pl.DataFrame, *, by: Sequence[str] = (), among: Sequence[str] = ()
) -> alt.LayerChart:
    """Step curves of the share still good by age, one for each group.

    Parameters
    ----------
    points
        `by` columns and CURVE, ages in years, in order of age within each group.
    by
        Group columns.
    among
        Names of all groups of the page, so that each looks the same on every chart.

    Returns
    -------
    The curve is a full line with its limits as a stepped band as far as `supported` is true, and
    goes on as a faint dotted line without limits from there. Each group has its own colour, dash
    and end mark. Steps too small or too close to be seen are left out. Raises BadInput for more
    than MOST_GROUPS groups.
    """
    check_frame(points, CURVE, name="curve")
    named = theme.name_groups(points, by)
    names = theme.check_groups(named)
    data = thin_steps(_from_birth(named), heights=("survival", *_LIMITS))

    oldest = float(data["age"].max() or 1.0)  # type: ignore[arg-type]
    x = theme.age_axis(oldest)
    y = alt.Y(
        "survival:Q",
        title="Share of sets not yet failed",
        scale=alt.Scale(domain=[0, 1]),
        axis=_SHARE,
    )
    tooltip = [
        alt.Tooltip("group:N", title="Group"),
        alt.Tooltip("age:Q", title="Age (years)", format=".1f"),
        alt.Tooltip("survival:Q", title="Not yet failed", format=".0%"),
        alt.Tooltip("survival_low:Q", title="at least", format=".0%"),
        alt.Tooltip("survival_high:Q", title="at most", format=".0%"),
        alt.Tooltip("at_risk:Q", title="At risk", format=".0f"),
    ]
    return draw_layers(
        data,
        x=x,
        y=y,
        limits=_LIMITS,
        names=names,
        tooltip=tooltip,
        look={"interpolate": "step-after"},
        among=among,
    )


def _from_birth(named: pl.DataFrame) -> pl.DataFrame:
    """Each group with a point at age 0, where all are good by definition, if it has none."""
    first = named.group_by("group", maintain_order=True).first()
    start = first.filter(pl.col("age") > 0).with_columns(
        age=pl.lit(0.0),
        failures=pl.lit(0.0),
        survival=pl.lit(1.0),
        survival_low=pl.lit(1.0),
        survival_high=pl.lit(1.0),
        cumulative_hazard=pl.lit(0.0),
    )
    together = pl.concat([start.select(named.columns), named])
    order = pl.DataFrame({"group": named["group"].unique(maintain_order=True)}).with_row_index("i")
    return (
        together.join(order, on="group", maintain_order="left")
        .sort("i", maintain_order=True)
        .drop("i")
    )
