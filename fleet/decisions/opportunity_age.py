"""From which age on it pays to renew parts when the machine is open anyway.

Machines are opened for other reasons at a constant rate. A set is renewed at an opening once it is
older than t, at the planned age T at the latest, and when it fails. With S(x) = R(x) to t and
R(x) exp(-rate (x - t)) from there, a set costs

    cf ∫_0^T h S + co rate ∫_t^T S + cp S(T)   in   ∫_0^T S   days,

cp the planned cost, co = cp less what opening costs, cf the failure cost (opportunity-based age
replacement: Dekker and Dijkstra 1992, Naval Research Logistics 39). METHODS: opportunity-age
"""

from dataclasses import dataclass

import numpy as np

from fleet.decisions.set_life import SetLife
from fleet.decisions.weibull_life import Floats

_STEPS = 400  # of age within the longest span looked at
_COARSE = 50  # ages tried for t and for T


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Opportunity:
    """The two ages in days (infinite: never), and the cost a day under each draw."""

    open_age: float
    planned_age: float
    rate: Floats
    failures: Floats


def opportunity_age(
    life: SetLife, *, planned: float, failure: float, opening: float, openings: float
) -> Opportunity:
    """The ages with the lowest long-run cost averaged over the draws.

    `opening`: what a planned recap costs less when the machine is open anyway; `openings`: how
    often a machine is opened for other reasons, a day. `life` is of new parts.
    """
    saved = min(opening, planned)
    longest = float(np.quantile(life.scale, 0.9)) * 2.5
    ages = np.linspace(0.0, longest, _STEPS + 1)
    alive = life.lasts(ages[:, None])  # (ages, draws)
    tried = np.arange(0, _STEPS + 1, _STEPS // _COARSE)
    best = (np.inf, 0, 0)
    for t in tried:
        cost, days, _ = _cycle(ages, alive, int(t), openings, planned, failure, saved)
        last = tried[(tried >= t) & (tried > 0)]
        mean = (cost[last] / days[last] * life.weight).sum(axis=1)
        at = int(mean.argmin())
        if mean[at] < best[0]:
            best = (float(mean[at]), int(t), int(last[at]))
    cost, days, failed = _cycle(ages, alive, best[1], openings, planned, failure, saved)
    never = failure / life.mean()
    if (life.weight * never).sum() <= best[0]:
        return Opportunity(
            open_age=np.inf, planned_age=np.inf, rate=never, failures=1.0 / life.mean()
        )
    # the last age looked at is so old that hardly a set reaches it
    end = np.inf if best[2] == _STEPS else float(ages[best[2]])
    return Opportunity(
        open_age=float(ages[best[1]]) if best[1] < _STEPS else np.inf,
        planned_age=end,
        rate=cost[best[2]] / days[best[2]],
        failures=failed[best[2]] / days[best[2]],
    )


def _cycle(
    ages: Floats, alive: Floats, t: int, openings: float, planned: float, failure: float,
    saved: float,
) -> tuple[Floats, Floats, Floats]:  # fmt: skip
    """Cost, days and failures of one set for every planned age T >= ages[t], (ages, draws)."""
    gone = np.exp(-openings * np.maximum(ages - ages[t], 0.0))[:, None]
    left = alive * gone
    step = ages[1] - ages[0]
    days = _summed((left[1:] + left[:-1]) / 2.0 * step)
    failed = _summed((alive[:-1] - alive[1:]) * (gone[1:] + gone[:-1]) / 2.0)
    renewed = 1.0 - left - failed  # at an opening
    cost = failure * failed + (planned - saved) * renewed + planned * left
    return cost, days, failed


def _summed(steps: Floats) -> Floats:
    return np.concatenate([np.zeros((1, steps.shape[1])), np.cumsum(steps, axis=0)])
