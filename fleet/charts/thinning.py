"""Curves with no more points than the eye tells apart.

A step curve of a hundred thousand machines has tens of thousands of steps; a chart has some hundred
pixels. What is left out here moves no drawn line, limits included, by more than half a pixel of a
chart of PIXELS_ACROSS by PIXELS_UP. Tables and files keep every point.
"""

import math
from collections.abc import Sequence

import polars as pl

PIXELS_ACROSS, PIXELS_UP = 1200, 440  # the widest and tallest that pages draw
HALF = 0.5  # pixels


def thin_steps(
    frame: pl.DataFrame,
    *,
    heights: Sequence[str],
    top: float = 1.0,
    right: float | None = None,
) -> pl.DataFrame:
    """The rows of step curves that a chart can show.

    Parameters
    ----------
    frame
        group, age, supported and `heights`, by group and age; a step holds from its row's age on.
    heights
        What is drawn: the curve and its limits (null: nothing there).
    top, right
        Ends of the axes, which begin at 0; `right` is the greatest age unless given.

    Returns
    -------
    Rows as they were, in the same order: the first and last of each group, both sides of every
    change of `supported` and of every null, and in between the steps that can be seen. A kept step
    is at most half a pixel to the right of where it was, a kept plateau at most half a pixel off.
    """
    if frame.is_empty():
        return frame
    widest = float(right if right is not None else frame["age"].max() or 1.0)  # type: ignore[arg-type]
    step = HALF / PIXELS_ACROSS * max(widest, 1e-9)
    strip = (pl.col("age") / step).floor()
    marked = frame.with_columns(_edge=_edges(heights))
    # Of the steps in a strip half a pixel wide the last stays: it ends where all of them end.
    kept = marked.filter(pl.col("_edge") | (strip != strip.shift(-1)))
    seen = _plateaus(kept, heights, tolerance=HALF / PIXELS_UP * max(top, 1e-9))
    return kept.filter(pl.Series(seen)).drop("_edge")


def thin_dots(
    frame: pl.DataFrame, *, across: str, up: Sequence[str], spans: tuple[float, float]
) -> pl.DataFrame:
    """One dot of those that lie within a pixel of one another in all of `up` (nulls alike).

    `frame`: group, supported, `across` and `up`; `spans`: how much of each the axes show.
    The first and last of each group stay, in the same order. A dot is several pixels wide.
    """
    if frame.is_empty():
        return frame
    wide, tall = (max(span, 1e-9) for span in spans)
    cells = [
        (pl.col(across) / (wide / PIXELS_ACROSS)).floor().alias("_across"),
        *((pl.col(c) / (tall / PIXELS_UP)).floor().alias(f"_{c}") for c in up),
    ]
    ends = pl.col("group").is_first_distinct() | pl.col("group").is_last_distinct()
    return frame.filter(ends | pl.struct("group", "supported", *cells).is_first_distinct())


def _edges(heights: Sequence[str]) -> pl.Expr:
    """Rows that stay whatever their height: ends of groups, and both sides of every border."""
    what = [pl.col("group"), pl.col("supported"), *(pl.col(c).is_null() for c in heights)]
    sides = [(one != one.shift(way)).fill_null(value=True) for one in what for way in (1, -1)]
    return pl.any_horizontal(sides)


def _plateaus(kept: pl.DataFrame, heights: Sequence[str], *, tolerance: float) -> list[bool]:
    """Which rows differ by more than `tolerance` from the last one taken, or must stay.

    Each answer hangs on the one before, so this is a loop; the strips have bounded its length by
    the width of the chart, whatever the number of machines.
    """
    columns = [kept[c].fill_null(-1.0).to_list() for c in heights]  # nulls are edges by themselves
    seen: list[bool] = []
    last: tuple[float, ...] = (math.inf,) * len(heights)
    for edge, *row in zip(kept["_edge"].to_list(), *columns, strict=True):
        off = any(abs(one - other) > tolerance for one, other in zip(row, last, strict=True))
        seen.append(edge or off)
        last = tuple(row) if seen[-1] else last
    return seen
