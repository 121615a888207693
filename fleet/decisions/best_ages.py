"""Best replacement ages of every estimate and of every point of its region."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.decisions.estimate_for import overall_for
from fleet.decisions.replace_age import BestOnce, age_replacement_weibull, one_time_weibull
from fleet.decisions.weibull_life import Floats, Mask, Whole
from fleet.errors import BadInput

NEW_PARTS = ("typical", "same")
_KEY = ["model", "batch", "parts"]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Lives:
    """Weibull lives with the best ages that go with them, element by element.

    `estimate` is the row number of the estimate each belongs to, rising; waits are NaN where
    costs are unknown. `weight` is None for the edge of a region, whose range matters, and given
    for draws, whose quantiles do. `open` marks points where a region without an edge was cut off.
    """

    estimate: Whole
    shape: Floats
    scale: Floats
    best: BestOnce
    weight: Floats | None = None
    open: Mask | None = None


def with_costs(estimates: pl.DataFrame, costs: pl.DataFrame, *, new_parts: str) -> pl.DataFrame:
    """The estimates (numbered) with planned_cost, failure_cost, `overall` (estimate whose parts
    will go in) and `rate`: what every day after the recap costs. Nulls where unknown.

    `new_parts`: "same" for the same life over and over, "typical" for the model as a whole.
    Raises BadInput for another word.
    """
    if new_parts not in NEW_PARTS:
        raise BadInput(f"new parts cannot be {new_parts!r}; choose typical or same")
    priced = estimates.join(costs, on="model", how="left", maintain_order="left")
    if new_parts == "same":
        priced = priced.with_columns(overall="estimate")
    else:
        priced = priced.join(
            overall_for(estimates), on="estimate", how="left", maintain_order="left"
        )
    known = _fitted(priced).select("estimate", "shape", "scale", "planned_cost", "failure_cost")
    rates = age_replacement_weibull(*(known[c].to_numpy() for c in known.columns[1:])).rate
    by_overall = pl.DataFrame({"overall": known["estimate"], "rate": rates})
    return priced.join(by_overall, on="overall", how="left", maintain_order="left")


def best_of_estimates(priced: pl.DataFrame) -> Lives:
    """Best ages of the estimates that exist; NaN where costs are unknown."""
    return _lives(_fitted(priced))


def best_of_regions(priced: pl.DataFrame, regions: pl.DataFrame) -> Lives:
    """Best ages of every point of the regions (frames.REGION, with `weight` for draws, and
    `open` where an edge was cut off).

    A point of the model's own region takes its own long-run cost; one of a batch's takes the
    cost of the model's estimate.
    """
    extra = [name for name in ("weight", "open") if name in regions.columns]
    points = regions.select(*_KEY, "shape", "scale", *extra).drop_nulls(["shape", "scale"])
    joined = points.join(
        _fitted(priced).drop("shape", "scale"), on=_KEY, how="inner", nulls_equal=True
    ).sort("estimate", maintain_order=True)
    return _lives(joined)


def _fitted(priced: pl.DataFrame) -> pl.DataFrame:
    return priced.filter(pl.col("exists").fill_null(False)).drop_nulls(["shape", "scale"])


def _lives(frame: pl.DataFrame) -> Lives:
    shape, scale, planned, failure, rate = (
        frame[c].to_numpy() for c in ("shape", "scale", "planned_cost", "failure_cost", "rate")
    )
    own = (frame["overall"] == frame["estimate"]).to_numpy()
    wait, now_until = np.full(shape.shape, np.inf), np.full(shape.shape, -1.0)
    wait[own] = age_replacement_weibull(shape[own], scale[own], planned[own], failure[own]).age
    once = one_time_weibull(shape[~own], scale[~own], planned[~own], failure[~own], rate[~own])
    wait[~own], now_until[~own] = once.wait, once.now_until
    wait[np.isnan(planned) | np.isnan(failure)] = np.nan
    return Lives(
        estimate=frame["estimate"].to_numpy(),
        shape=shape,
        scale=scale,
        best=BestOnce(wait=wait, now_until=now_until),
        weight=frame["weight"].to_numpy() if "weight" in frame.columns else None,
        open=frame["open"].fill_null(False).to_numpy() if "open" in frame.columns else None,
    )
