"""Expected cost, and years of service, of one machine over so many months, under each draw.

Whatever is done first, later the same rule holds: parts that go in are renewed at a planned month
of theirs, or when they fail; a failure may put the machine beyond repair, and a recap may not
succeed: it is done once more, and if that fails too the machine is given up. A machine given up
is replaced by another where one has a price, else service ends. METHODS: keep-or-replace

    W(k) = Σ_j f(j) F(k - j + 1/2) + R(T) C(k - T)     new parts (+ R(k) v(k) if they outlast k)
    C(k) = cp + (1 - s) cp + (1 - (1 - s)^2) W(k) + (1 - s)^2 B(k)      a recap
    F(k) = cf - cp + (1 - c) C(k) + c B(k)                              a failure
    B(k) = price + U(k)                                                 another machine
"""

from dataclasses import dataclass, replace

import numpy as np

from fleet.decisions.ahead import LOOKED_AHEAD, Ahead, leftover_of
from fleet.decisions.weibull_life import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """What things cost and how likely they go wrong.

    `planned`, `failure`: of a recap in time, and all that a failure costs, its recap included;
    `success`: that a recap succeeds; `beyond`: that a failure puts the machine beyond repair;
    `another`: of another machine less the scrap of this one, None where there is none to be had;
    `scrap` what an old one brings in; `leftover`: parts still working at the end are counted at
    what they are worth.
    """

    planned: float
    failure: float
    success: float
    beyond: float
    another: float | None
    scrap: float
    leftover: bool = True

    @property
    def lost(self) -> float:
        """Chance that a recap fails twice."""
        return (1.0 - self.success) ** 2


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Later:
    """Values of the rule that holds later, by months left (months + 1, draws)."""

    recap: Floats
    failure_half: Floats  # a failure half a month before so many months are left; row 0 is unused
    another: Floats
    planned_cost: Floats  # of a recap in the long run, all that may go wrong with it counted
    failure_cost: Floats
    rate: Floats  # cost a month in the long run


def later(
    new: Ahead, other: Ahead, terms: Terms, *, new_at: int | None, other_at: int | None,
    months: int, clock: float = 0.0,
) -> Later:  # fmt: skip
    """Values with 0 to `months` months left: new parts renewed at month `new_at` (None: when they
    fail), those of another machine at `other_at`. `clock`: counted for each month of service.
    """
    planned, failure, rate = _long_run(new, other, terms, new_at, other_at)

    def worth(parts: Ahead, at: int | None, k: int) -> Floats:
        if not terms.leftover:
            return np.zeros(parts.weight.size)
        return leftover_of(parts, at, planned, failure, rate, month=k)

    shape = (months + 1, new.weight.size)
    fresh, used, recap, fails, half, another = (np.zeros(shape) for _ in range(6))
    for k in range(months + 1):
        # the value of a failure in the month just begun is carried on from the two before
        if k == 1:
            half[1] = fails[0]
        elif k > 1:
            half[k] = fails[k - 1] + (fails[k - 1] - fails[k - 2]) / 2.0
        fresh[k] = run(new, new_at, worth(new, new_at, k), recap, half, k, clock)
        if other_at == 0:
            used[k] = _renewed_at_once(fresh[k], terms)
        else:
            used[k] = run(other, other_at, worth(other, other_at, k), recap, half, k, clock)
        another[k] = -terms.scrap if terms.another is None else terms.another + used[k]
        recap[k] = (
            terms.planned * (2.0 - terms.success)
            + (1.0 - terms.lost) * fresh[k]
            + terms.lost * another[k]
        )
        fails[k] = (
            terms.failure - terms.planned + (1.0 - terms.beyond) * recap[k]
            + terms.beyond * another[k]
        )  # fmt: skip
        if k:
            half[k] = (fails[k - 1] + fails[k]) / 2.0
    return Later(
        recap=recap, failure_half=half, another=another, planned_cost=planned,
        failure_cost=failure, rate=rate,
    )  # fmt: skip


def run(
    ahead: Ahead, planned_at: int | None, worth: Floats, recap: Floats, half: Floats, k: int,
    clock: float = 0.0,
) -> Floats:  # fmt: skip
    """Value with k months left of parts that run to month `planned_at`, or to their failure;
    `worth` is what those count for that still work at the end.
    """
    end = k if planned_at is None else min(planned_at, k)
    value = clock * ahead.worked[end]
    if end:
        value = value + np.einsum("jd,jd->d", ahead.failing[:end], half[k : k - end : -1])
    if planned_at is not None and planned_at <= k:
        return np.asarray(value + ahead.alive[planned_at] * recap[k - planned_at])
    return np.asarray(value + ahead.alive[k] * worth)


def _renewed_at_once(fresh: Floats, terms: Terms) -> Floats:
    """Another machine whose parts are renewed when it comes: it too may be given up."""
    another = terms.another or 0.0
    job = terms.planned * (2.0 - terms.success)
    return np.asarray(
        (job + (1.0 - terms.lost) * fresh + terms.lost * another) / (1.0 - terms.lost)
    )


def _long_run(
    new: Ahead, other: Ahead, terms: Terms, new_at: int | None, other_at: int | None
) -> tuple[Floats, Floats, Floats]:
    """Cost of a recap and of a failure, all that follows counted, and cost a month for ever."""
    last, worked = _until(new, new_at)
    job = terms.planned * (2.0 - terms.success)
    extra = terms.failure - terms.planned
    if terms.another is None:
        # service ends there; what it leaves to pay is not known: taken as a recap's cost
        planned = np.full(new.weight.size, job / (1.0 - terms.lost))
        failure = extra + planned
        return planned, failure, (planned * last + failure * (1.0 - last)) / worked
    # with B what another machine costs, all that follows counted, planned = job + lost B and
    # failure = plain + lead B; what new parts leave to pay is 0, that gives the rate, and then
    # B = another + what the other parts leave to pay is linear in B
    plain = extra + (1.0 - terms.beyond) * job
    lead = (1.0 - terms.beyond) * terms.lost + terms.beyond
    other_last, other_worked = _until(other, other_at)
    share = other_worked / worked

    def mixed(planned: float, failure: float, at: Floats) -> Floats:
        return planned * at + failure * (1.0 - at)

    fixed, each = mixed(job, plain, last), mixed(terms.lost, lead, last)
    bought = terms.another + mixed(job, plain, other_last) - share * fixed
    bought = bought / (1.0 - mixed(terms.lost, lead, other_last) + share * each)
    return job + terms.lost * bought, plain + lead * bought, (fixed + each * bought) / worked


def _until(parts: Ahead, at: int | None) -> tuple[Floats, Floats]:
    """Chance to reach the month of renewal, and months worked by then."""
    end = LOOKED_AHEAD if at is None else min(at, LOOKED_AHEAD)
    return parts.alive[end], parts.worked[end]


def service(terms: Terms) -> Terms:
    """Terms under which nothing costs anything: for counting months of service alone."""
    another = None if terms.another is None else 0.0
    return replace(terms, planned=0.0, failure=0.0, another=another, scrap=0.0, leftover=False)
