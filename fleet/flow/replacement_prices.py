"""What could be had instead of a recap, and at which price: the records, and what options say."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import polars as pl

from fleet.errors import BadInput
from fleet.flow.amounts import check_cost, check_parts_age, check_price
from fleet.flow.currency import one_currency
from fleet.flow.shop import shop_of

_OPTION = {"used": "--price-used", "new": "--price-new", "board": "--price-board",
           "scrap": "--scrap"}  # fmt: skip

_NO_LABOUR = (
    "The work of swapping a board is not counted: enter the shop's labour rate and the model's "
    "bench hours"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What options say; None: the records' word. Ages in years. Raises BadInput."""

    used: float | None = None
    used_age: float | None = None
    new: float | None = None
    board: float | None = None
    board_age: float | None = None
    scrap: float | None = None
    planned: float | None = None
    failure: float | None = None
    success: float | None = None
    beyond_repair: float | None = None

    def __post_init__(self) -> None:
        for name in ("used", "new", "board", "scrap"):
            check_price(getattr(self, name), f"the price of {name}")
        for name in ("used", "board"):
            check_parts_age(getattr(self, f"{name}_age"), f"the age of the {name} one's parts")
        for name in ("planned", "failure"):
            check_cost(getattr(self, name), name)
        for name in ("success", "beyond_repair"):
            value = getattr(self, name)
            if value is not None and not 0.0 <= value <= 1.0:
                what = name.replace("_", " ")
                raise BadInput(f"the chance of {what} is {value:g}; give it between 0 and 1")
        if self.success is not None and self.success < 0.05:
            raise BadInput("a recap that hardly ever succeeds cannot be reckoned with")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """Prices of one model in one currency; None where there is none. Ages of parts in years."""

    planned: float
    failure: float
    used: float | None
    used_age: float | None
    new: float | None
    board: float | None
    board_age: float
    scrap: float | None
    currency: str | None
    lacking: Mapping[str, str]
    notes: tuple[str, ...]


def offered(records: Mapping[str, pl.DataFrame], model: str, told: Told) -> Offered:
    """Prices for a model, and for options without one what to do, in `lacking` by option.

    Of several prices of an item the last priced counts, then the last entered. Raises BadInput
    where the costs of a recap or a failure are not known, or prices are in two currencies.
    """
    facts = records["models"].filter(pl.col("model") == model)
    rows = (
        records["prices"]
        .filter(pl.col("model") == model)
        .sort("priced_on_latest", "entered_on", nulls_last=False, maintain_order=True)
        .unique("item", keep="last")
    )
    listed = {row["item"]: row for row in rows.iter_rows(named=True)}
    planned = _cost(facts, "planned_cost", told.planned)
    failure = _cost(facts, "failure_cost", told.failure)
    if planned is None or failure is None:
        which = "planned recap" if planned is None else "failure"
        option = "--planned-cost" if planned is None else "--failure-cost"
        raise BadInput(
            f"what a {which} costs for model {model} is not known; enter it with the model, or "
            f"give {option}"
        )
    prices, currencies = {}, {}
    if told.planned is None or told.failure is None:
        currencies[f"model {model}"] = _last(facts, "currency")
    for item in ("used", "new", "board", "scrap"):
        given = getattr(told, item)
        prices[item] = listed[item]["price"] if given is None and item in listed else given
        if given is None and item in listed:
            currencies[f"its price {item}"] = listed[item]["currency"]
    shop, labour, notes = shop_of(records), 0.0, []
    if prices["board"] is not None:
        hours = _last(facts, "bench_hours")
        if shop.labour_rate is None or hours is None:
            notes.append(_NO_LABOUR)
        else:
            labour = float(hours) * shop.labour_rate
            currencies["the shop"] = shop.currency
    used_age = told.used_age
    if used_age is None and "used" in listed:
        used_age = listed["used"]["parts_age_years"]
    board_age = told.board_age
    if board_age is None:
        board_age = (listed["board"]["parts_age_years"] if "board" in listed else None) or 0.0
    check_parts_age(used_age, "the age of the used one's parts")
    check_parts_age(board_age, "the age of the board one's parts")
    lacking = {
        item: f"no price; give {_OPTION[item]} or fleet add price"
        for item in ("used", "new", "board")
        if prices[item] is None
    }
    if prices["used"] is not None and used_age is None:
        lacking["used"] = (
            "no age of its parts; give --used-parts-age or enter parts_age_years with its price"
        )
    currency = one_currency(currencies)
    notes.extend(_without_currency(currencies, currency))
    notes.extend((*_cheap(planned, failure), *_for_scrap(prices)))
    return Offered(
        planned=planned,
        failure=failure,
        used=prices["used"] if used_age is not None else None,
        used_age=used_age,
        new=prices["new"],
        board=None if prices["board"] is None else prices["board"] + labour,
        board_age=board_age,
        scrap=prices["scrap"],
        currency=currency,
        lacking=lacking,
        notes=tuple(notes),
    )


def _cheap(planned: float, failure: float) -> Iterator[str]:
    if failure < planned:
        yield (
            f"A failure is said to cost {failure:g}, less than a planned recap ({planned:g}): its "
            "cost should include the recap after it, and is taken to be as much as that recap "
            "alone; correct one of them"
        )


def _for_scrap(prices: Mapping[str, float | None]) -> Iterator[str]:
    """A sentence where buying one and scrapping it would earn money: costs may be negative then."""
    scrap = prices["scrap"] or 0.0
    for item in ("used", "new"):
        price = prices[item]
        if price is not None and scrap > price:
            yield (
                f"The old machine is said to bring in {scrap:g} and a {item} one to cost "
                f"{price:g}: buying them for scrap would earn money, so costs may come out below "
                "nothing; correct one of them"
            )


def _without_currency(told: Mapping[str, str | None], currency: str | None) -> Iterator[str]:
    """A sentence on prices in no currency where others have one."""
    bare = [who for who, text in told.items() if not (text and text.strip())]
    if currency and bare:
        yield (
            f"No currency is told of {', '.join(bare)}: taken to be in {currency} like the others; "
            "enter it with the record"
        )


def _cost(facts: pl.DataFrame, column: str, told: float | None) -> float | None:
    value = _last(facts, column) if told is None else told
    return None if value is None or value <= 0.0 else float(value)


def _last(facts: pl.DataFrame, column: str) -> Any:  # noqa: ANN401 - a number or a text
    known = facts[column].drop_nulls()
    return known[-1] if known.len() else None
