"""Keep, recap or replace one machine: cost per year of service, and chance of no failure.

METHODS: keep-or-replace, leftover
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.decisions.ahead import STEPS_PER_YEAR, Ahead, leftover_of
from fleet.decisions.drawn_lives import quantiles
from fleet.decisions.horizon_cost import Later, Terms, later, run, service
from fleet.decisions.machine import Machine, Parts, Prices, bought_instead, takes_its_place
from fleet.decisions.measure_now import LongRun
from fleet.decisions.weibull_life import Floats

__all__ = ["CHOICES", "OPTIONS", "Machine", "Prices", "choices", "long_run"]

_TAIL = 0.05

OPTIONS = (
    "recap_now",
    "recap_when_due",
    "recap_when_it_fails",
    "leave",
    "used",
    "used_recapped",
    "new",
    "board",
    "retire",
)

CHOICES = pl.Schema(
    {
        "option": pl.String(),
        "keeps_service": pl.Boolean(),  # goes on to the end of the years asked about
        "pay_now": pl.Float64(),
        "cost": pl.Float64(),  # expected, over the years; null: no price
        "years_of_service": pl.Float64(),
        "cost_per_year": pl.Float64(),  # of service
        "cost_low": pl.Float64(),  # of cost_per_year, 5 and 95 % of the draws
        "cost_high": pl.Float64(),
        "p_no_failure": pl.Float64(),  # chance of no failure in the years
        "p_no_failure_low": pl.Float64(),
        "p_no_failure_high": pl.Float64(),
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Option:
    """Cost and service by draw, the weights of draws, and the chance of no failure by draw."""

    cost: Floats
    months: Floats
    weight: Floats
    lasts: Floats
    pay_now: float
    keeps: bool


def choices(machine: Machine, prices: Prices, *, years: int, leftover: bool = True) -> pl.DataFrame:
    """A row for each option that can be reckoned (CHOICES), in the order of OPTIONS.

    Over `years` years; `leftover`: parts still working at the end are counted at what they are
    worth, rather than as worth nothing.
    """
    rows = []
    for name, found in _options(machine, prices, months=years * STEPS_PER_YEAR, leftover=leftover):
        weight = found.weight
        cost, months = (float((weight * v).sum()) for v in (found.cost, found.months))
        service_years = months / STEPS_PER_YEAR
        each = _per_year(found)
        low, high = quantiles(each[None], weight[None], (_TAIL, 1.0 - _TAIL))
        lasts = float((weight * found.lasts).sum())
        worst, best = quantiles(found.lasts[None], weight[None], (_TAIL, 1.0 - _TAIL))
        a_year = cost / service_years if service_years > 0.0 else None
        rows.append(
            {
                "option": name,
                "keeps_service": found.keeps,
                "pay_now": found.pay_now,
                "cost": cost,
                "years_of_service": service_years,
                "cost_per_year": a_year,
                "cost_low": None if a_year is None else min(float(low[0]), a_year),
                "cost_high": None if a_year is None else max(float(high[0]), a_year),
                "p_no_failure": None if a_year is None else lasts,
                "p_no_failure_low": None if a_year is None else min(float(worst[0]), lasts),
                "p_no_failure_high": None if a_year is None else max(float(best[0]), lasts),
            }
        )
    return pl.DataFrame(rows, schema=CHOICES)


def _per_year(found: _Option) -> Floats:
    years = np.maximum(found.months, 1e-9) / STEPS_PER_YEAR
    return np.asarray(found.cost / years)


def long_run(machine: Machine, prices: Prices) -> LongRun:
    """What a recap, a failure and a month cost in the long run, by draw."""
    costs = _value_of(machine, prices, months=1, leftover=True).costs
    return LongRun(planned=costs.planned_cost, failure=costs.failure_cost, rate=costs.rate)


def _value_of(machine: Machine, prices: Prices, *, months: int, leftover: bool) -> "_Value":
    new = Parts(ahead=machine.new_parts, planned_at=machine.due_at())
    instead = takes_its_place(machine, prices)
    terms = Terms(
        planned=prices.planned,
        failure=prices.failure,
        success=prices.success,
        beyond=prices.beyond_repair,
        another=None if instead is None else instead[1],
        scrap=prices.scrap or 0.0,
        leftover=leftover,
    )
    other = new if instead is None else instead[0]
    return _Value(new=new, other=other, terms=terms, months=months)


def _options(
    machine: Machine, prices: Prices, *, months: int, leftover: bool
) -> Iterator[tuple[str, _Option]]:
    value = _value_of(machine, prices, months=months, leftover=leftover)
    terms, weight = value.terms, machine.new_parts.weight
    if machine.own is None:
        yield "recap_now", value.recap(1.0 - terms.beyond, weight)
    else:
        yield "recap_now", value.recap(1.0, weight)
        if machine.due_in:
            yield "recap_when_due", value.of(Parts(ahead=machine.own, planned_at=machine.due_in))
        yield "recap_when_it_fails", value.of(Parts(ahead=machine.own))
        yield "leave", _let_go(machine.own, terms, months)
    for name, (parts, price) in bought_instead(machine, prices).items():
        yield name, value.of(parts, pay=price)
    nothing = np.zeros(weight.size)
    yield "retire", _Option(
        cost=nothing - terms.scrap, months=nothing, weight=weight, lasts=nothing,
        pay_now=0.0 - terms.scrap, keeps=False,
    )  # fmt: skip


class _Value:
    """Values over so many months of what is done first, the same rule holding later."""

    def __init__(self, *, new: Parts, other: Parts, terms: Terms, months: int) -> None:
        self._new, self.terms, self._months = new, terms, months

        def count(what: Terms, clock: float) -> Later:
            return later(
                new.ahead, other.ahead, what, new_at=new.planned_at, other_at=other.planned_at,
                months=months, clock=clock,
            )  # fmt: skip

        self.costs = count(terms, 0.0)
        self._served = None if terms.another is not None else count(service(terms), 1.0)

    def recap(self, possible: float, weight: Floats) -> _Option:
        """New parts at once, where the machine can be mended at all with chance `possible`."""
        k, terms = self._months, self.terms
        served = np.full(weight.size, float(k))

        def mixed(values: Later) -> Floats:
            return np.asarray(possible * values.recap[k] + (1.0 - possible) * values.another[k])

        if self._served is not None:
            served = mixed(self._served)
        return _Option(
            cost=mixed(self.costs),
            months=served,
            weight=weight,
            lasts=possible * terms.success * self._new_last(k),
            pay_now=terms.planned,
            keeps=True,
        )

    def of(self, parts: Parts, *, pay: float = 0.0) -> _Option:
        """The parts in a machine that works, `pay`ed for first."""
        k, terms = self._months, self.terms
        at_once = parts.planned_at == 0
        served = np.full(parts.ahead.weight.size, float(k))
        costs = self.costs
        worth = np.zeros(parts.ahead.weight.size)
        if terms.leftover:
            worth = leftover_of(
                parts.ahead, parts.planned_at, costs.planned_cost, costs.failure_cost, costs.rate,
                month=k,
            )  # fmt: skip
        value = run(parts.ahead, parts.planned_at, worth, costs.recap, costs.failure_half, k)
        if self._served is not None:
            served = run(
                parts.ahead, parts.planned_at, 0.0 * worth, self._served.recap,
                self._served.failure_half, k, 1.0,
            )  # fmt: skip
        return _Option(
            cost=pay + value,
            months=served,
            weight=parts.ahead.weight,
            lasts=self._lasts(parts, k),
            pay_now=pay + (terms.planned if at_once else 0.0),
            keeps=True,
        )

    def _lasts(self, parts: Parts, k: int) -> Floats:
        at = parts.planned_at
        if at is None or at > k:
            return np.asarray(parts.ahead.alive[k])
        return np.asarray(parts.ahead.alive[at] * self.terms.success * self._new_last(k - at))

    def _new_last(self, k: int) -> Floats:
        """Chance that new parts, renewed as they fall due, see no failure in `k` months."""
        alive, at = self._new.ahead.alive, self._new.planned_at
        if at is None:
            return np.asarray(alive[k])
        return np.asarray((alive[at] * self.terms.success) ** (k // at) * alive[k % at])


def _let_go(own: Ahead, terms: Terms, months: int) -> _Option:
    """It runs until it fails, and is not mended: what a failure costs but for its recap."""
    failed = 1.0 - own.alive[months]
    return _Option(
        cost=failed * (terms.failure - terms.planned - terms.scrap),
        months=own.worked[months],
        weight=own.weight,
        lasts=own.alive[months],
        pay_now=0.0,
        keeps=False,
    )
