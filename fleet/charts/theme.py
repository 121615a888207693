"""Colours, dashes, shapes and axis words shared by the charts.

Text and background are left unset, so that the page a chart stands on decides between light and
dark. Every colour has a contrast of at least 3 to 1 on white and on near-black (WCAG 2.2, 1.4.11),
and no group is told from another by colour alone: dash and shape change with it.
"""

import json
from collections.abc import Sequence
from typing import TypeVar

import altair as alt
import polars as pl

from fleet.errors import BadInput

# The vermilion, blue and green of Okabe and Ito (2008), "Color Universal Design", with the purple
# and the yellow darkened until they hold on white, and a grey.
COLOURS = ("#0072B2", "#D55E00", "#009E73", "#B8609A", "#8A7A00", "#7F7F7F")
DASHES: tuple[tuple[int, ...], ...] = (
    (1, 0),
    (7, 3),
    (2, 2),
    (9, 3, 2, 3),
    (12, 5),
    (4, 2, 1, 2, 1, 2),
    (3, 5),
)
SHAPES = ("circle", "square", "triangle-up", "diamond", "cross", "triangle-down", "triangle-right")

T = TypeVar("T")

# Curves are thinned to what the eye sees (thinning.py); twelve of them may still have more rows
# than Altair takes unasked.
alt.data_transformers.enable("default", max_rows=None)

MOST_GROUPS = 12  # more curves than this on one chart cannot be told apart
HEIGHT = 440  # legend and axes included, as pages reckon it
AGE = "Age of the set of capacitors (years)"
MACHINE_AGE = "Age of the machine (years)"


def name_groups(frame: pl.DataFrame, by: Sequence[str]) -> pl.DataFrame:
    """`frame` with a String column `group`: the values of `by` in words, "all units" without."""
    if not by:
        return frame.with_columns(group=pl.lit("all units"))
    parts = [pl.col(c).cast(pl.String).fill_null(f"{c} unknown") for c in by]
    return frame.with_columns(group=pl.concat_str(parts, separator=", "))


def check_groups(frame: pl.DataFrame) -> list[str]:
    """Names of the groups in the order they come; BadInput when there are too many to draw."""
    names: list[str] = frame["group"].unique(maintain_order=True).to_list()
    if len(names) > MOST_GROUPS:
        raise BadInput(
            f"a chart shows at most {MOST_GROUPS} groups and these are {len(names)}; "
            "choose fewer of them"
        )
    return names


def split(data: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """The supported points, the last of them in each group, and the points to draw faintly.

    Both kinds of points get a column `run`, one number for each unbroken stretch of a group, so
    that a line never leaps over a stretch of the other kind. Faint stretches begin and end at
    their supported neighbours, so that there is no gap.
    """
    ordered = data.with_row_index("row").with_columns(
        run=pl.col("supported").rle_id().over("group").cast(pl.Int64)
    )
    whole = ordered.filter(pl.col("supported"))
    ends = whole.filter(pl.col("group").is_last_distinct())
    faint = ordered.filter(pl.col("supported").not_())
    open_after = pl.col("supported").shift(-1).over("group").not_()
    open_before = pl.col("supported").shift(1).over("group").not_()
    before = ordered.filter(pl.col("supported") & open_after).with_columns(pl.col("run") + 1)
    after = ordered.filter(pl.col("supported") & open_before).with_columns(pl.col("run") - 1)
    rest = pl.concat([faint, before, after]).sort("row", "run")
    return whole.drop("row"), ends.drop("row"), rest.drop("row")


def legend() -> alt.Legend:
    """One legend below the chart: it fits a phone."""
    return alt.Legend(
        title=None,
        orient="bottom",
        columns=2,
        labelLimit=260,
        symbolSize=110,
        symbolOpacity=1,
        symbolStrokeWidth=0,  # a dashed outline would fray the shapes
    )


def line_legend(*, undrawn: Sequence[str] = ()) -> alt.Legend:
    """The same for lines that differ in colour and dash: a length of each, long enough to show it.

    `undrawn`: groups of which the chart has nothing, so that nobody looks for them.
    """
    names = json.dumps(list(undrawn))
    label = f"indexof({names}, datum.label) < 0 ? datum.label : datum.label + ' (not drawn)'"
    return alt.Legend(
        title=None,
        orient="bottom",
        columns=2,
        labelLimit=260,
        symbolType="stroke",
        symbolSize=1_200,
        symbolStrokeWidth=2,
        symbolOpacity=1,
        labelExpr=label,
    )


def colour(
    names: Sequence[str],
    *,
    among: Sequence[str] = (),
    with_legend: bool = True,
    own_legend: alt.Legend | None = None,
) -> alt.Color:
    """Colour by `group`; layers beside the one that has the legend go without.

    `among`: all groups of the page, so that a group looks the same on every chart of it.
    """
    shown = (own_legend or legend()) if with_legend else None
    return alt.Color("group:N", scale=_colours(names, among), legend=shown)


def edge(names: Sequence[str], *, among: Sequence[str] = ()) -> alt.Stroke:
    """The same colour for the outline of an area."""
    return alt.Stroke("group:N", scale=_colours(names, among), legend=None)


def dash(
    names: Sequence[str], *, among: Sequence[str] = (), own_legend: alt.Legend | None = None
) -> alt.StrokeDash:
    """Dash by `group`; its cycle differs in length from that of the colours, so that pairs of
    colour and dash do not repeat.
    """
    ranges = [list(d) for d in _looks(DASHES, names, among)]
    scale = alt.Scale(domain=list(names), range=ranges)
    return alt.StrokeDash("group:N", scale=scale, legend=own_legend)


def shape(
    names: Sequence[str], *, among: Sequence[str] = (), with_legend: bool = True
) -> alt.Shape:
    """Shape by `group`, in step with the dash."""
    scale = alt.Scale(domain=list(names), range=_looks(SHAPES, names, among))
    return alt.Shape("group:N", scale=scale, legend=legend() if with_legend else None)


def age_axis(oldest: float, *, title: str = AGE) -> alt.X:
    """Horizontal age axis in years, from 0."""
    return alt.X(
        "age:Q",
        title=title,
        scale=alt.Scale(domain=[0, max(oldest, 1.0)], nice=False),
        axis=alt.Axis(tickMinStep=1, grid=False, labelFlush=True),
    )


def _colours(names: Sequence[str], among: Sequence[str]) -> alt.Scale:
    return alt.Scale(domain=list(names), range=_looks(COLOURS, names, among))


def _looks(values: Sequence[T], names: Sequence[str], among: Sequence[str]) -> list[T]:
    """The look of each name by its place `among` all, those not there after them."""
    places = {name: i for i, name in enumerate(dict.fromkeys([*among, *names]))}
    return [values[places[name] % len(values)] for name in names]
