"""Whether the same jobs could be done with parts from fewer suppliers, and what that would cost.

One order, one shipping charge: common practice, no source.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import polars as pl

from fleet.decisions.spares import Masses
from fleet.errors import BadInput
from fleet.flow.best_part import Judged, without_supplier
from fleet.flow.order_words import money

if TYPE_CHECKING:
    from fleet.flow.order import Order, Wishes

_KEY = ["model", "position"]
_LEAST_SAVED = 0.01
_NAMED = 4


def fewer_suppliers(
    found: "Order",
    judged: Judged,
    records: Mapping[str, pl.DataFrame],
    wishes: "Wishes",
    failing: Mapping[str, Masses],
) -> tuple[str, ...]:
    """A sentence for the supplier whom it would be cheapest to leave out, where that saves money.

    Left out only where every place still gets a part with as good a verdict, no piece more is
    missing and no job more is late; which parts then change is said, since they may be rated for
    a shorter life.
    """
    suppliers = found.shipping["supplier"].drop_nulls().to_list()
    if len(suppliers) < 2:
        return ()
    others = [(one, _without(one, found, judged, records, wishes, failing)) for one in suppliers]
    cheaper = [
        (other.cost, supplier, other)
        for supplier, other in others
        if other is not None and other.cost < found.cost - _LEAST_SAVED and _as_good(found, other)
    ]
    if not cheaper:
        return ()
    cost, supplier, other = min(cheaper, key=lambda one: one[:2])
    return (
        f"Without {supplier} the order would cost {money(cost, other.currency)}, "
        f"{money(found.cost - cost, other.currency)} less: {_changes(found, other)}",
    )


def _without(
    supplier: str,
    found: "Order",
    judged: Judged,
    records: Mapping[str, pl.DataFrame],
    wishes: "Wishes",
    failing: Mapping[str, Masses],
) -> "Order | None":
    from fleet.flow.order import order_of

    kept = records["offers"].filter(pl.col("supplier").ne_missing(pl.lit(supplier)))
    try:
        return order_of(
            {**records, "offers": kept},
            found.window,
            wishes,
            failing=failing,
            judged=without_supplier(judged, kept, found.window.as_of),
        )
    except BadInput:
        return None


def _as_good(found: "Order", other: "Order") -> bool:
    """Whether every place that had a part has one with the same verdict, and nothing
    is missing or late.
    """
    short = pl.col("quantity") - pl.col("from_stock") - pl.col("to_buy")
    before, after = _chosen(found), _chosen(other)
    lost = before.join(after, on=[*_KEY, "verdict"], how="anti")
    return (
        lost.is_empty()
        and other.bought.late.height <= found.bought.late.height
        and (
            other.frame.select(short.clip(0).sum()).item()
            <= found.frame.select(short.clip(0).sum()).item()
        )
    )


def _chosen(order: "Order") -> pl.DataFrame:
    return order.frame.filter(pl.col("quantity") > 0).select(*_KEY, "part", "verdict")


def _changes(found: "Order", other: "Order") -> str:
    before, after = _chosen(found), _chosen(other)
    changed = after.join(before, on=[*_KEY, "part"], how="anti")
    if changed.is_empty():
        return "the same parts from others"
    listed = [f"{r['part']} into {r['model']} {r['position']}" for r in changed.to_dicts()]
    more = f" and {len(listed) - _NAMED} more" if len(listed) > _NAMED else ""
    return f"{', '.join(listed[:_NAMED])}{more} instead, which fit as well but ranked lower"
