"""One machine somebody decides on: lives of its parts, and what could be had instead."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from fleet.decisions.ahead import LOOKED_AHEAD, STEP, Ahead
from fleet.decisions.set_life import SetLife


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Machine:
    """What is known of lives. `own` is None for a machine that does not work.

    `new_parts`: what a recap puts in; `typical`: the maker's parts of a batch nobody knows;
    `of_new`: those of a new machine. `due_in`: months until its date, None for never or not known.
    `best_age`: days at which new parts are renewed later; infinite for never.
    """

    own: Ahead | None
    new_parts: Ahead
    typical: SetLife
    of_new: Ahead
    due_in: int | None
    best_age: float
    _kept: dict[float, Ahead] = field(default_factory=dict)

    def aged(self, days: float) -> Ahead:
        """The maker's parts of another machine that works, so many days old."""
        if days not in self._kept:
            self._kept[days] = Ahead.of_set(self.typical.used(days))
        return self._kept[days]

    def due_at(self, age: float = 0.0) -> int | None:
        """Months until parts of an age in days reach the best age; None where past it, or never."""
        left = self.best_age - age
        if not np.isfinite(left) or left <= 0.0:
            return None
        month = max(1, round(left / STEP))
        return month if month < LOOKED_AHEAD else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """Prices, None for none known; ages of parts in days. `scrap` is what the machine brings in.

    `board` is all that a swap costs, its labour included; `beyond_repair`: chance that a failure
    puts the machine beyond repair; `success`: chance that a recap succeeds.
    """

    planned: float
    failure: float
    success: float
    beyond_repair: float
    used: float | None = None
    used_age: float | None = None
    new: float | None = None
    board: float | None = None
    board_age: float = 0.0
    scrap: float | None = None


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Parts:
    """Parts in a machine, and the month in which they are renewed (None: when they fail)."""

    ahead: Ahead
    planned_at: int | None = None


def bought_instead(machine: Machine, prices: Prices) -> Mapping[str, tuple[Parts, float]]:
    """Options that have a price: the parts they come with, and the price less scrap."""
    out: dict[str, tuple[Parts, float]] = {}
    scrap = prices.scrap or 0.0
    if prices.used is not None and prices.used_age is not None:
        ahead, due = machine.aged(prices.used_age), machine.due_at(prices.used_age)
        out["used"] = Parts(ahead=ahead, planned_at=due), prices.used - scrap
        out["used_recapped"] = Parts(ahead=ahead, planned_at=0), prices.used - scrap
    if prices.new is not None:
        parts = Parts(ahead=machine.of_new, planned_at=machine.due_at())
        out["new"] = parts, prices.new - scrap
    if prices.board is not None:
        ahead, due = machine.aged(prices.board_age), machine.due_at(prices.board_age)
        out["board"] = Parts(ahead=ahead, planned_at=due), prices.board
    return out


def takes_its_place(machine: Machine, prices: Prices) -> tuple[Parts, float] | None:
    """What takes the place of a machine beyond repair, and its price: a used one, else a new one.

    A used one past the best age runs on with its parts, unless renewing them at once leaves less
    to pay.
    """
    instead = bought_instead(machine, prices)
    if "used" not in instead:
        return instead.get("new")
    parts, price = instead["used"]
    if parts.planned_at is not None:
        return parts, price
    new, end = machine.new_parts, machine.due_at() or LOOKED_AHEAD
    last = new.alive[end]
    a_month = (prices.planned * last + prices.failure * (1.0 - last)) / new.worked[end]
    left = prices.failure - a_month * parts.ahead.worked[-1]
    runs_on = float((parts.ahead.weight * left).sum())
    return (parts if runs_on < prices.planned else instead["used_recapped"][0]), price
