"""What the bench can do and costs: of several entries the last counts, column by column."""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

__all__ = ["Shop", "shop_of"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """Facts of the bench; None where nobody said. `labour_rate` an hour."""

    labour_rate: float | None = None
    bench_hours_per_month: float | None = None
    budget: float | None = None
    setup_hours: float | None = None
    currency: str | None = None


def shop_of(records: Mapping[str, pl.DataFrame]) -> Shop:
    """The facts in the known frame of the kind shop."""
    rows = records["shop"].sort("entered_on", nulls_last=False, maintain_order=True)

    def number(name: str) -> float | None:
        told = rows[name].drop_nulls()
        return float(told[-1]) if told.len() else None

    currency = rows["currency"].drop_nulls()
    return Shop(
        labour_rate=number("labour_rate"),
        bench_hours_per_month=number("bench_hours_per_month"),
        budget=number("budget"),
        setup_hours=number("setup_hours"),
        currency=str(currency[-1]) if currency.len() else None,
    )
