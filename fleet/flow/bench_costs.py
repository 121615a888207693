"""What opening a machine and measuring it cost. METHODS: opening-cost."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.errors import BadInput
from fleet.flow.amounts import check_price
from fleet.flow.currency import one_currency
from fleet.flow.shop import Shop

if TYPE_CHECKING:
    from fleet.decisions.policy_costs import Bench

OPENING_SHARE = 0.5  # of the bench hours of a recap: opening, closing, trying out; ours, no source
_MOST_OPENINGS = 366.0  # a machine and year
MEASURING_HOURS = 0.25  # once it is open; ours, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What options say instead of the records. Raises BadInput for what cannot be.

    `opening_cost` and `measuring_cost`: for every model; `openings` a machine and year.
    """

    opening_share: float = OPENING_SHARE
    opening_cost: float | None = None
    measuring_cost: float | None = None
    openings: float | None = None

    def __post_init__(self) -> None:
        if not 0.0 <= self.opening_share <= 1.0:
            raise BadInput(
                f"opening takes a share of {self.opening_share:g} of the bench hours; give it "
                "between 0 and 1"
            )
        for name in ("opening_cost", "measuring_cost"):
            check_price(getattr(self, name), f"the {name.replace('_', ' ')} given")
        rate = self.openings
        if rate is not None and not (math.isfinite(rate) and 0.0 <= rate <= _MOST_OPENINGS):
            raise BadInput(
                f"the openings given are {rate:g} a year; give a number from 0 to "
                f"{_MOST_OPENINGS:g}"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchFound:
    """What the bench costs for a model, None where it cannot be told, and why in `notes`."""

    bench: Bench | None
    currency: str | None
    notes: tuple[str, ...] = ()


def bench_of(
    model: str, models: pl.DataFrame, shop: Shop, given: Given, *, openings: float
) -> BenchFound:
    """Opening: bench hours x labour rate x the share that opening takes; measuring: the same and
    a quarter of an hour. `openings`: learned, a machine and year.

    Raises BadInput where the model and the shop speak of two currencies.
    """
    from fleet.decisions.policy_costs import Bench

    rows = models.filter(pl.col("model") == model)
    hours = rows["bench_hours"].drop_nulls()
    priced = rows["currency"].drop_nulls()
    told = {f"model {model}": priced[-1] if priced.len() else None}
    if shop.labour_rate is not None:
        told["the shop"] = shop.currency
    currency = one_currency(told)
    opening, measuring = given.opening_cost, given.measuring_cost
    if opening is None and hours.len() and shop.labour_rate is not None:
        opening = float(hours[-1]) * shop.labour_rate * given.opening_share
    if opening is not None and measuring is None and shop.labour_rate is not None:
        measuring = opening + MEASURING_HOURS * shop.labour_rate
    if opening is None or measuring is None:
        lacking = "the shop's labour rate" if shop.labour_rate is None else "its bench hours"
        note = (
            f"What opening and measuring a machine of model {model} costs is not known: enter "
            f"{lacking}, or give --opening-cost and --measuring-cost; the rules that need it are "
            "left out"
        )
        return BenchFound(bench=None, currency=currency, notes=(note,))
    rate = openings if given.openings is None else given.openings
    return BenchFound(
        bench=Bench(opening=opening, measuring=measuring, openings=rate / DAYS_PER_YEAR),
        currency=currency,
    )
