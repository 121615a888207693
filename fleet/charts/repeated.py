"""How many failures a machine has had by each age, with limits."""

from collections.abc import Sequence

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.charts.curve_layers import draw_layers
from fleet.charts.thinning import thin_steps
from fleet.frames import check_frame

# What `draw_repeated` reads besides the group columns; age in years.
REPEATED = pl.Schema(
    {
        "age": pl.Float64,
        "at_risk": pl.Float64,
        "mean_failures": pl.Float64,
        "mean_failures_low": pl.Float64,
        "mean_failures_high": pl.Float64,
        "supported": pl.Boolean,
    }
)

_LIMITS = ("mean_failures_low", "mean_failures_high")
_HEADROOM = 1.6  # upper limits of few machines leave the page; the axis keeps the steps readable


def draw_repeated(
    points: pl.DataFrame, *, by: Sequence[str] = (), among: Sequence[str] = ()
) -> alt.LayerChart:
    """Mean number of failures of a machine by its age, in steps, one line for each group.

    Parameters
    ----------
    points
        `by` columns and REPEATED (null limit: none), in order of age within each group.
    by
        Group columns.
    among
        Names of all groups of the page, so that each looks the same on every chart.

    Returns
    -------
    A full line with its limits as a stepped band as far as `supported` is true, faint and dotted
    elsewhere. Bands are cut a little above the highest supported mean. Raises BadInput for more
    than MOST_GROUPS groups.
    """
    check_frame(points, REPEATED, name="repeated failures")
    named = theme.name_groups(points, by)
    names = theme.check_groups(named)
    whole = named.filter("supported")
    highest = whole["mean_failures"].max() if whole.height else named["mean_failures"].max()
    top = max(float(highest or 0.0) * _HEADROOM, 1.0)  # type: ignore[arg-type]
    data = thin_steps(named, heights=("mean_failures", *_LIMITS), top=top)
    y = alt.Y(
        "mean_failures:Q",
        title="Failures of a machine so far",
        scale=alt.Scale(domain=[0, top], nice=True),
    )
    tooltip = [
        alt.Tooltip("group:N", title="Group"),
        alt.Tooltip("age:Q", title="Age (years)", format=".1f"),
        alt.Tooltip("mean_failures:Q", title="Failures so far", format=".2f"),
        alt.Tooltip("mean_failures_low:Q", title="at least", format=".2f"),
        alt.Tooltip("mean_failures_high:Q", title="at most", format=".2f"),
        alt.Tooltip("at_risk:Q", title="Machines watched", format=".0f"),
    ]
    return draw_layers(
        data,
        x=theme.age_axis(float(data["age"].max() or 1.0), title=theme.MACHINE_AGE),  # type: ignore[arg-type]
        y=y,
        limits=_LIMITS,
        names=names,
        tooltip=tooltip,
        look={"interpolate": "step-after", "clip": True},
        among=among,
    )
