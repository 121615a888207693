"""Offers that an order can be reckoned with: priced, fresh, in one currency."""

from collections.abc import Collection
from dataclasses import dataclass

import polars as pl

from fleet.errors import BadInput


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Priced:
    """`offers` (decisions.purchase.OFFERED and lead_days, age_years, shelf) in `currency` (None:
    nobody named one). `ask_first`: parts that would have to be bought too old, so that nothing is.
    """

    offers: pl.DataFrame
    currency: str | None
    ask_first: tuple[str, ...]
    notes: tuple[str, ...]


def priced(
    offers: pl.DataFrame,
    parts: Collection[str],
    *,
    shop_currency: str | None,
    currency: str | None,
    anyway: bool = False,
) -> Priced:
    """The offers of `parts` that can be ordered from, with the sentences on those left out.

    `offers`: known frame with fresh, age_years and shelf beside it. `anyway`: old ones count too.
    Raises BadInput when no one currency covers every part, or several do and none was named.
    """
    mine = _last_told(offers.filter(pl.col("part").is_in(list(parts))))
    notes = [*_unpriced(mine), *_undescribed_shipping(mine)]
    mine = mine.filter(pl.col("price").is_not_null())
    old = mine.filter(~pl.col("fresh"))
    fresh = mine if anyway else mine.filter("fresh")
    ask_first = sorted(set(old["part"]) - set(fresh["part"]))
    named, sentences = _one_currency(fresh, shop_currency=shop_currency, currency=currency)
    left = fresh.filter(pl.col("currency").eq_missing(pl.lit(named)))
    return Priced(
        offers=left,
        currency=named or shop_currency,
        ask_first=tuple(ask_first),
        notes=(*notes, *sentences),
    )


def _last_told(offers: pl.DataFrame) -> pl.DataFrame:
    """One offer a part, supplier and price break: the last entered."""
    return offers.sort("entered_on", "record", nulls_last=False).unique(
        ["part", "supplier", "price_from_quantity"], keep="last", maintain_order=True
    )


def _unpriced(offers: pl.DataFrame) -> list[str]:
    return [
        f"{part} at {supplier or 'a supplier nobody named'} has no price and is left out; enter it "
        f"with `fleet add offer --part {part} --price ...`"
        for part, supplier in offers.filter(pl.col("price").is_null())
        .select("part", "supplier")
        .unique(maintain_order=True)
        .iter_rows()
    ]


def _undescribed_shipping(offers: pl.DataFrame) -> list[str]:
    told = offers.group_by("supplier", maintain_order=True).agg(pl.col("shipping").is_null().all())
    return [
        f"What {supplier or 'a supplier nobody named'} charges for shipping is not told; it counts "
        "as nothing"
        for supplier, silent in told.iter_rows()
        if silent
    ]


def _one_currency(
    offers: pl.DataFrame, *, shop_currency: str | None, currency: str | None
) -> tuple[str | None, list[str]]:
    """The currency to order in, and a sentence on what was left out for it."""
    used = offers["currency"].unique(maintain_order=True).to_list()
    if not used:  # nothing is on offer: the order says so itself
        return currency, []
    if currency is None and len(used) == 1:
        return used[0], []
    parts = set(offers["part"])
    covers = {
        one: parts == set(offers.filter(pl.col("currency").eq_missing(pl.lit(one)))["part"])
        for one in used
    }
    named = currency or _which(covers, shop_currency)
    if named is None or not covers.get(named, False):
        raise BadInput(_no_one_currency(offers, wanted=currency, several=sum(covers.values()) > 1))
    return named, [_left_for(offers, named)] if len(used) > 1 else []


def _which(covers: dict[str | None, bool], shop_currency: str | None) -> str | None:
    """The shop's own where it covers every part, else the only one that does."""
    able = [one for one, does in covers.items() if does and one is not None]
    if shop_currency in able:
        return shop_currency
    return able[0] if len(able) == 1 else None


def _left_for(offers: pl.DataFrame, named: str) -> str:
    others = offers.filter(pl.col("currency").ne_missing(pl.lit(named)))
    listed = ", ".join(
        f"{part} in {one or 'no currency'}"
        for part, one in others.select("part", "currency").unique(maintain_order=True).iter_rows()
    )
    return f"Ordered in {named}; offers in others are left out: {listed}"


def _no_one_currency(offers: pl.DataFrame, *, wanted: str | None, several: bool) -> str:
    if several and wanted is None:
        used = ", ".join(sorted(str(c) for c in offers["currency"].unique() if c is not None))
        return (
            f"every part can be bought in more than one currency ({used}), and sums of two cannot "
            "be compared; say which with --currency"
        )
    listed = ", ".join(
        f"{part} in {one or 'no currency'}"
        for part, one in offers.select("part", "currency")
        .filter(pl.col("currency").ne_missing(pl.lit(wanted)) if wanted else pl.lit(value=True))
        .unique(maintain_order=True)
        .sort("part", "currency")
        .iter_rows()
    )
    asked = (
        f"not every part can be bought in {wanted}"
        if wanted
        else ("the parts are priced in two currencies or more, and no one of them covers all")
    )
    return (
        f"{asked}: {listed}; enter their prices in one currency with `fleet add offer`, or order "
        "for fewer machines with --units"
    )
