"""Parts bought so that the plan's jobs keep their days, where somebody delivers in time.

METHODS: now-or-later
"""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import polars as pl

from fleet.decisions.parts_late import WAITS, days_allowed, in_time, late_jobs, lead_days
from fleet.decisions.purchase import Purchase, choose_offers
from fleet.flow.order_window import Window

if TYPE_CHECKING:
    from fleet.flow.order import Order

_NAMED = 4
_LEAST = 0.005  # money: less is rounding


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bought:
    """`purchase` as ordered and the jobs that are `late` with it (parts_late.LATE). `other`: the
    purchase that was not taken and its `other_late`; None where nothing hangs on the choice.
    `allowed`: parts bought in time: part, days; no rows where price alone decided.
    """

    purchase: Purchase
    late: pl.DataFrame
    waits: pl.DataFrame
    allowed: pl.DataFrame
    other: Purchase | None = None
    other_late: pl.DataFrame | None = None


def waits_of(window: Window, places: pl.DataFrame, taken: pl.DataFrame) -> pl.DataFrame:
    """WAITS of a window: the first jobs of a model are done with what lies on the shelf.

    `places`: model, position, part. `taken`: model, position, pieces from the shelf.
    """
    shelf = taken.group_by("model", "position").agg(pl.col("pieces").sum())
    turn = pl.int_range(pl.len()).over("model")
    return (
        window.jobs.sort("on", "unit")
        .with_columns(turn=turn)
        .join(places.select("model", "position", "part"), on="model")
        .join(shelf, on=["model", "position"], how="left")
        .filter(pl.col("turn") >= pl.col("pieces").fill_null(0))
        .select(WAITS.names())
        .unique(maintain_order=True)
    )


def buy_in_time(
    needs: pl.DataFrame, offers: pl.DataFrame, waits: pl.DataFrame, window: Window, *, keep: bool
) -> Bought:
    """The cheapest purchase, or with `keep` the cheapest by which fewer jobs begin too early."""
    cheapest = choose_offers(needs, offers)
    allowed = days_allowed(waits, offers, window.as_of)
    any_time = allowed.clear()

    def late(purchase: Purchase) -> pl.DataFrame:
        leads = lead_days(purchase.lines, offers)
        return late_jobs(waits.drop_nulls("on"), leads, window.as_of)

    late_now = late(cheapest)
    if late_now.is_empty():
        return Bought(purchase=cheapest, late=late_now, waits=waits, allowed=any_time)
    quick = choose_offers(needs, in_time(offers, allowed))
    late_then = late(quick)
    if _lateness(late_then) >= _lateness(late_now):
        return Bought(purchase=cheapest, late=late_now, waits=waits, allowed=any_time)
    if keep:
        return Bought(
            purchase=quick, late=late_then, waits=waits, allowed=allowed,
            other=cheapest, other_late=late_now,
        )  # fmt: skip
    return Bought(
        purchase=cheapest, late=late_now, waits=waits, allowed=any_time,
        other=quick, other_late=late_then,
    )  # fmt: skip


def _lateness(late: pl.DataFrame) -> int:
    return int(late.select((pl.col("there") - pl.col("on")).dt.total_days().sum()).item() or 0)


def late_words(found: "Order") -> tuple[str, ...]:
    """When the parts are there, which jobs that moves, and what it costs to keep their days."""
    from datetime import timedelta

    from fleet.flow.order_words import money

    lead = found.buy["lead_days"].max()
    if not isinstance(lead, float) or not lead:
        return ()
    there = found.window.as_of + timedelta(days=-int(-lead // 1))
    last = f"Ordered today, the last parts are there by {there}"
    if not found.window.planned:
        return (last,)
    bought = found.bought
    said = [f"{last}, and those of each model before its first job"]
    if bought.late.height:
        said = [f"{last}. {_moved(bought.late)}"]
    if bought.other is None or bought.other_late is None:
        if bought.late.height:
            said[0] += ": no supplier to be ordered from delivers their parts sooner"
        return tuple(said)
    dearer = abs(bought.other.cost - bought.purchase.cost)
    more = f"{money(dearer, found.currency)} more" if dearer > _LEAST else "nothing more"
    if bought.allowed.is_empty():
        said.append(
            f"{_changed(bought.other, bought.purchase)} would keep the day of "
            f"{_sooner(bought.late, bought.other_late)}, for {more}"
        )
    else:
        said.append(
            f"{_changed(bought.purchase, bought.other)} keeps the day of "
            f"{_sooner(bought.other_late, bought.late)}; it costs {more} than the cheapest order"
        )
    return tuple(said)


def _moved(late: pl.DataFrame) -> str:
    listed = [
        f"{row['unit']} ({row['model']}) from {row['on']} to {row['there']}"
        for row in late.head(_NAMED).to_dicts()
    ]
    more = f" and {late.height - _NAMED:,} more" if late.height > _NAMED else ""
    one = late.height == 1
    return (
        f"{late.height:,} {'job begins' if one else 'jobs begin'} before its own model's parts are "
        f"there and {'moves' if one else 'move'}: {', '.join(listed)}{more}"
    )


def _sooner(late: pl.DataFrame, less: pl.DataFrame) -> str:
    """Jobs of `late` that are done sooner with the other purchase."""
    helped = late.join(less, on=["unit", "there"], how="anti")["unit"].to_list()
    more = f" and {len(helped) - _NAMED:,} more" if len(helped) > _NAMED else ""
    return f"{', '.join(helped[:_NAMED])}{more}"


def _changed(taken: Purchase, left: Purchase) -> str:
    """What is bought from whom in place of whom."""
    both = taken.lines.join(left.lines, on="part", suffix="_left").filter(
        pl.col("supplier").ne_missing(pl.col("supplier_left"))
    )
    nobody = "a supplier nobody named"
    listed = [
        f"{row['part']} from {row['supplier'] or nobody} in place of "
        f"{row['supplier_left'] or nobody}"
        for row in both.head(_NAMED).to_dicts()
    ]
    more = f" and {both.height - _NAMED:,} parts more" if both.height > _NAMED else ""
    return f"{', '.join(listed)}{more}"
