"""Machines before anybody knows them: they join while they work, or come in when they fail.

From the start of the log each working machine joins at the fleet's rate. A failure of a machine
that is not known yet is told with the chance `failure_only`; then the machine is known because it
failed. A failure noticed when it happens is dated so; else it is found dead some time later
(exponential, the fleet's gap between check-ins), and half of the time it is told when it last
worked. Only what is found from the start of the log on is told; with `forgetting` older failures
are told too, the less the older: exp(-age of the news / remembers). Other machines that fail
before they join are gone, or renewed (`second_lives`).
"""

from dataclasses import dataclass

import numpy as np

from fleets.life import Floats
from fleets.renewal import GENERATIONS, RENEWED_UNKNOWN, State, bench
from fleets.told import Told, position_names
from fleets.world import Flags, Machines, Rng, Truth, Whole, day_of


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Met:
    """When machines came to be known (infinite: never) and whether they worked then."""

    enrolled: Floats
    working: Flags


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Heard:
    """Whether and when each failure is heard of."""

    told: Flags
    found: Floats
    dead: Flags


def meet(
    rng: Rng, truth: Truth, machines: Machines, state: State, told: Told, *, until: float
) -> Met:
    """Draw how each machine comes to be known; renews sets in `state` and adds to `told`."""
    count = len(machines.built)
    opened = np.maximum(machines.built, day_of(truth.kind.log_since))
    joins = opened + rng.exponential(1.0 / truth.join, count)
    enrolled, working = np.full(count, np.inf), np.zeros(count, bool)
    unknown = np.ones(count, bool)
    renewals: list[tuple[Whole, Floats, np.ndarray]] = []

    other = opened + rng.exponential(1.0 / truth.other, count)
    heard = _hear(rng, truth, other, until=until)
    here = heard.told & (other < np.minimum(joins, state.failing()))
    _tell(rng, truth, told, state, here, other, heard, cause="other")
    enrolled[here], unknown[here] = heard.found[here], False

    for _ in range(GENERATIONS if truth.kind.second_lives else 1):
        fails = state.failing()
        heard = _hear(rng, truth, fails, until=until)
        dies = unknown & (fails < np.minimum(joins, until))
        here = dies & heard.told
        _tell(rng, truth, told, state, here, fails, heard, cause="capacitor")
        enrolled[here] = heard.found[here]
        back = bench(rng, heard.found)
        again = dies & ~here & (rng.random(count) < RENEWED_UNKNOWN) & (back < until)
        again &= truth.kind.second_lives
        unknown &= ~dies | again
        place = np.flatnonzero(again)
        if not place.size:
            break
        renewals.append(
            (place, back[place], position_names(*state.renew(rng, truth, place, back[place])))
        )
        late = again & (joins < back)
        joins[late] = back[late] + rng.exponential(1.0 / truth.join, int(late.sum()))
    joined = unknown & (joins < np.minimum(state.failing(), until))
    enrolled[joined], working[joined] = joins[joined], True
    _tell_renewals(told, renewals, enrolled)
    return Met(enrolled=enrolled, working=working)


def _hear(rng: Rng, truth: Truth, fails: Floats, *, until: float) -> _Heard:
    count = len(fails)
    dead = rng.random(count) >= truth.kind.prompt
    found = fails + np.where(dead, rng.exponential(truth.gap, count), 0.0)
    old = np.exp(-np.maximum(until - found, 0.0) / truth.remembers)
    told = (rng.random(count) < truth.failure_only * old) & (found < until)
    if not truth.kind.forgetting:
        told &= found >= day_of(truth.kind.log_since)
    return _Heard(told=told, found=found, dead=dead)


def _tell(
    rng: Rng, truth: Truth, told: Told, state: State, here: Flags, fails: Floats, heard: _Heard,
    *, cause: str,
) -> None:  # fmt: skip
    last = fails - rng.uniform(0.0, truth.gap, len(fails))
    last = np.where(last > state.start.max(axis=1), last, np.nan)
    says = heard.dead & (rng.random(len(fails)) < 0.5)
    told.add(
        np.flatnonzero(here),
        heard.found[here],
        "failed",
        cause=cause,
        dead=heard.dead[here],
        last_seen=np.where(says, last, np.nan)[here],
    )


def _tell_renewals(
    told: Told, renewals: list[tuple[Whole, Floats, np.ndarray]], enrolled: Floats
) -> None:
    """Renewals of machines that came to be known later, told on the day they did."""
    for place, day, positions in renewals:
        known = np.isfinite(enrolled[place])
        told.add(
            place[known],
            day[known],
            "recapped",
            entered=enrolled[place[known]],
            positions=positions[known],
        )
