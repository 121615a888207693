"""Measure before you decide: what a reading is worth, and what looking first costs in the long run.

A reading is bad or good. Of machines that would fail within a span a share `sensitivity` (se) reads
bad; of the others a share `specificity` (sp) reads good. By Bayes a chance p of failing within the
span becomes p se / (p se + (1-p)(1-sp)) after a bad reading and p (1-se) / (p (1-se) + (1-p) sp)
after a good one. METHODS: condition-first
"""

import math
from dataclasses import dataclass

import numpy as np

from fleet.decisions.set_life import SetLife
from fleet.decisions.weibull_life import Floats
from fleet.errors import BadInput

_LOOKS = 60  # looks at one set at the most
_TRIED = 60  # ages of the first look that are tried


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """How well a reading tells machines that fail within `within` days from those that do not.

    Raises BadInput for shares that are no chances, or a reading that tells nothing.
    """

    sensitivity: float
    specificity: float
    within: float

    def __post_init__(self) -> None:
        for name in ("sensitivity", "specificity"):
            value = getattr(self, name)
            if not 0.0 <= value <= 1.0:
                raise BadInput(f"the {name} is {value:g}; give a share between 0 and 1")
        if self.sensitivity + self.specificity < 1.0:
            raise BadInput(
                "sensitivity and specificity add up to less than 1: such a reading points the "
                "wrong way round; check the two"
            )
        if not (math.isfinite(self.within) and self.within > 0.0):
            raise BadInput("the span a reading speaks of should be above zero")

    def bad(self, p: float) -> float:
        """Chance that it reads bad, for a chance p of failing within the span."""
        return p * self.sensitivity + (1.0 - p) * (1.0 - self.specificity)

    def after(self, p: float, *, bad: bool) -> float:
        """The chance p after a bad or a good reading, by Bayes."""
        if bad:
            fails, lasts = p * self.sensitivity, (1.0 - p) * (1.0 - self.specificity)
        else:
            fails, lasts = p * (1.0 - self.sensitivity), (1.0 - p) * self.specificity
        return fails / (fails + lasts) if fails + lasts > 0.0 else p


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What to do with one machine now, without a reading and after one.

    Costs count what comes after, less what new parts put in now would cost from then on.
    `worth`: what a reading is worth, before what it costs. `measure`: whether to take it.
    """

    chance: float
    recap: float
    leave: float
    after_bad: float
    after_good: float
    chance_bad: float
    worth: float
    costs: float
    changes: bool

    @property
    def measure(self) -> bool:
        """Whether the reading may change the decision and is worth more than it costs."""
        return self.changes and self.worth > self.costs


def worth_of_reading(
    reading: Reading, *, chance: float, recap: float, recap_open: float, fails: float, lasts: float,
    costs: float,
) -> Decision:  # fmt: skip
    """The value of measuring one machine now.

    `chance`: of failing within the reading's span. `recap`: cost of renewing now, `recap_open` with
    the machine open already. `fails`, `lasts`: cost of leaving it if it then fails within the span
    or not. `costs`: of measuring, opening included.
    """

    def leave(p: float) -> float:
        return p * fails + (1.0 - p) * lasts

    p_bad = reading.bad(chance)
    after = {bad: reading.after(chance, bad=bad) for bad in (True, False)}
    renew = {bad: recap_open < leave(p) for bad, p in after.items()}
    informed = sum(
        share * min(recap_open, leave(after[bad]))
        for bad, share in ((True, p_bad), (False, 1.0 - p_bad))
    )
    return Decision(
        chance=chance,
        recap=recap,
        leave=leave(chance),
        after_bad=after[True],
        after_good=after[False],
        chance_bad=p_bad,
        worth=min(recap, leave(chance)) - informed,
        costs=costs,
        changes=renew[True] != renew[False],
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Looking:
    """Age in days of the first look (infinite: never), and cost and failures a day by draw."""

    first_look: float
    rate: Floats
    failures: Floats


def looking_first(
    life: SetLife, reading: Reading, *, planned: float, failure: float, opening: float,
    measuring: float,
) -> Looking:  # fmt: skip
    """The age of the first look with the lowest long-run cost, averaged over the draws.

    From that age on a set is measured every `reading.within` days and renewed when it reads bad;
    a set that fails is renewed then. `measuring` is all that a look costs, `opening` what a recap
    costs less with the machine open.
    """
    never = failure / life.mean()
    best, found = float((life.weight * never).sum()), None
    top = float(np.quantile(life.scale, 0.9)) * 1.5
    for age in np.linspace(top / _TRIED, top, _TRIED):
        cost, days, failed = _cycle(
            life, reading, float(age), planned, failure, min(opening, planned), measuring
        )
        mean = float((life.weight * cost / days).sum())
        if mean < best:
            best, found = mean, (float(age), cost / days, failed / days)
    if found is None:
        return Looking(first_look=np.inf, rate=never, failures=1.0 / life.mean())
    return Looking(first_look=found[0], rate=found[1], failures=found[2])


def _cycle(
    life: SetLife, reading: Reading, first: float, planned: float, failure: float, opening: float,
    measuring: float,
) -> tuple[Floats, Floats, Floats]:  # fmt: skip
    """Cost, days and failures of one set, by draw."""
    se, sp, span = reading.sensitivity, reading.specificity, reading.within
    here = life.lasts(first)
    days, failed = life.worked(first), 1.0 - here
    cost = failure * failed
    for n in range(_LOOKS):
        age = first + n * span
        end = age + span
        lived = life.lasts(age)
        p = np.where(lived > 0.0, 1.0 - life.lasts(end) / np.maximum(lived, 1e-300), 1.0)
        # mean days worked in the span: of those that fail in it, and of those that do not
        inside = np.where(
            lived > 0.0, (life.worked(end) - life.worked(age)) / np.maximum(lived, 1e-300), 0.0
        )
        if n == _LOOKS - 1:  # so old that the last ones are renewed whatever they read
            cost = cost + here * planned
            break
        bad = se * p + (1.0 - sp) * (1.0 - p)
        missed = (1.0 - se) * p
        lasts = sp * (1.0 - p)
        cost = cost + here * (measuring + bad * (planned - opening) + missed * failure)
        worked = np.maximum(
            inside - (1.0 - p) * span, 0.0
        )  # by those that fail, p times their mean
        days = days + here * ((1.0 - se) * worked + lasts * span)
        failed = failed + here * missed
        here = here * lasts
        if float((life.weight * here).max()) < 1e-9:
            break
    return cost, days, failed
