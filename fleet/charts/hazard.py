"""Failure rate by age, with its limits."""

from collections.abc import Sequence

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.charts.curve_layers import draw_layers
from fleet.frames import check_frame

# What `draw_hazard` reads besides the group columns: age in years, rates per year.
HAZARD = pl.Schema(
    {
        "age": pl.Float64,
        "hazard": pl.Float64,
        "hazard_low": pl.Float64,
        "hazard_high": pl.Float64,
        "supported": pl.Boolean,
    }
)

# An upper limit may leave the page where few are left; the axis keeps the rates readable.
_HEADROOM = 2.0


def draw_hazard(
    rates: pl.DataFrame, *, by: Sequence[str] = (), among: Sequence[str] = ()
) -> alt.LayerChart:
    """Failure rate by age as failures a year per 100 sets still running, one line for each group.

    Parameters
    ----------
    rates
        `by` columns, age (years), hazard, hazard_low, hazard_high (per year; null: no limit on
        that side) and supported, in order of age within each group.
    by
        Group columns.
    among
        Names of all groups of the page, so that each looks the same on every chart.

    Returns
    -------
    Lines with a band for the limits; where `supported` is false the line is faint and dotted and
    has no band. The axis ends a little above the highest rate in the supported part, bands are
    cut there. Raises BadInput for more than MOST_GROUPS groups.
    """
    check_frame(rates, HAZARD, name="failure rate")
    named = theme.name_groups(rates, by)
    names = theme.check_groups(named)
    per_hundred = [pl.col(c) * 100 for c in ("hazard", "hazard_low", "hazard_high")]
    data = named.with_columns(per_hundred)
    whole = data.filter("supported")

    x = theme.age_axis(float(data["age"].max() or 1.0))  # type: ignore[arg-type]
    highest = whole["hazard"].max() if whole.height else data["hazard"].max()
    top = max(float(highest or 0.0), 0.1) * _HEADROOM  # type: ignore[arg-type]
    y = alt.Y(
        "hazard:Q",
        title="Failures a year per 100 sets",
        scale=alt.Scale(domain=[0, top], nice=True),
    )
    tooltip = [
        alt.Tooltip("group:N", title="Group"),
        alt.Tooltip("age:Q", title="Age (years)", format=".1f"),
        alt.Tooltip("hazard:Q", title="A year per 100", format=".1f"),
        alt.Tooltip("hazard_low:Q", title="at least", format=".1f"),
        alt.Tooltip("hazard_high:Q", title="at most", format=".1f"),
    ]
    return draw_layers(
        data,
        x=x,
        y=y,
        limits=("hazard_low", "hazard_high"),
        names=names,
        tooltip=tooltip,
        look={"clip": True},
        among=among,
    )
