"""How many machines of an order can be finished with what is ordered and on the shelf."""

from typing import TYPE_CHECKING

import polars as pl

if TYPE_CHECKING:
    from fleet.flow.order import Order

_NAMED = 6


def lacking(found: "Order") -> pl.DataFrame:
    """model, position: places that parts for every machine of the window cannot be had for.

    position is null for a model whose board nobody described.
    """
    had = pl.col("from_stock") + pl.col("to_buy")
    nothing = pl.col("part").is_null() | (had < pl.col("needed"))
    return found.frame.filter(pl.col("position").is_null() | nothing).select("model", "position")


def complete_words(found: "Order") -> tuple[str, ...]:
    """How many of the window's machines can be finished, and what the others lack."""
    left = lacking(found)
    if left.is_empty():
        return ()
    jobs = found.window.jobs
    stuck = jobs.filter(pl.col("model").is_in(left["model"].unique().to_list())).height
    places = [
        f"{model} {position}" if position else f"everything for {model}"
        for model, position in left.iter_rows()
    ]
    more = f" and {len(places) - _NAMED:,} more" if len(places) > _NAMED else ""
    return (
        f"With this order {jobs.height - stuck:,} of {jobs.height:,} machines can be finished. The "
        f"others lack parts for {', '.join(places[:_NAMED])}{more}: settle those before you send "
        "it, or these machines are opened twice",
    )
