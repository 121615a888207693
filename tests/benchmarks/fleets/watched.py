"""Machines that are known and work: check-ins, failures, dropping out, until the as-of date.

Check-ins follow each other by gaps of gamma law (shape 4, mean the fleet's). A failure is told
when it happens (chance `prompt`) or at the next check-in, unless the machine has dropped out of
sight by then: nothing is heard of it after. One failure of another cause may come to each set; it
is put right within some weeks (chance 0.7), or the machine stays broken and out of sight. Other
failures during which the capacitors would fail as well are left away. Where the class has it, sets
that still work are renewed in advance at the fleet's rate, whatever their age; not while the
machine is broken. The new set is watched in its turn.
"""

from dataclasses import dataclass

import numpy as np

from fleet.ages import DAYS_PER_YEAR
from fleets.life import Floats
from fleets.renewal import GENERATIONS, RENEWED_KNOWN, State, bench
from fleets.told import Told, position_names
from fleets.world import Flags, Rng, Truth, Whole

_PUT_RIGHT = 0.7


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Other:
    """Failures of other causes: whether there is one, when, when told, when it runs again."""

    happens: Flags
    day: Floats
    told: Floats
    back: Floats  # infinite: never


def watch(
    rng: Rng,
    truth: Truth,
    state: State,
    machine: Whole,
    enrolled: Floats,
    told: Told,
    *,
    until: float,
) -> None:
    """Watch the machines named from the day it enrolled; renews sets in `state`, adds
    to `told`.
    """
    leaves = enrolled + rng.exponential(DAYS_PER_YEAR / truth.kind.drop_out, len(machine))
    end, since = np.minimum(leaves, until), enrolled
    for _ in range(GENERATIONS if truth.kind.second_lives or truth.planned else 1):
        found, renewed = _watch_sets(rng, truth, state, machine, since, end, told)
        back = bench(rng, found)
        again = (rng.random(len(machine)) < RENEWED_KNOWN) & (back < end) & truth.kind.second_lives
        early = np.isfinite(renewed)
        if not (again | early).any():
            break
        names = position_names(*state.renew(rng, truth, machine[again], back[again]))
        told.add(machine[again], back[again], "recapped", because="failure", positions=names)
        state.renew(rng, truth, machine[early], renewed[early], in_advance=True)
        told.add(machine[early], renewed[early], "recapped", because="planned")
        since = np.where(early, renewed, back)[again | early]
        machine, end = machine[again | early], end[again | early]


def _watch_sets(
    rng: Rng, truth: Truth, state: State, machine: Whole, since: Floats, end: Floats, told: Told
) -> tuple[Floats, Floats]:
    """Watch one set of each machine; the day its failure was told and the day it was renewed in
    advance, infinite where it was not.
    """
    count = len(machine)
    if not count:
        return np.zeros(0), np.zeros(0)
    fails = state.failing()[machine]
    checks = _checks(rng, truth, since, end)
    other = _others(rng, truth, checks, since, fails, end)
    renewed = _renewed_in_advance(rng, truth, since, np.minimum(fails, end), other)
    has = other.happens & (other.day < renewed)
    stays_broken = has & np.isinf(other.back)
    seen_until = np.minimum(np.minimum(fails, end), np.where(stays_broken, other.day, np.inf))
    seen_until = np.minimum(seen_until, renewed)
    down = has[:, None] & (checks >= other.day[:, None]) & (checks < other.back[:, None])
    row, column = np.nonzero((checks < seen_until[:, None]) & ~down)
    seen = checks[row, column]
    place = machine[row]
    wear = (seen[:, None] - state.start[place]) / state.scale[place]
    told.add(place, seen, "working", wear=wear)
    told.add(
        machine[has], other.told[has], "failed", cause="other", dead=(other.told > other.day)[has]
    )
    back = has & (other.back < end)
    told.add(machine[back], other.back[back], "repaired")
    dead = rng.random(count) >= truth.kind.prompt
    found = np.where(dead, _next(checks, fails), fails)
    heard = (found < end) & ~stays_broken & np.isinf(renewed)
    told.add(machine[heard], found[heard], "failed", cause="capacitor", dead=dead[heard])
    return np.where(heard, found, np.inf), renewed


def _renewed_in_advance(
    rng: Rng, truth: Truth, since: Floats, until: Floats, other: _Other
) -> Floats:
    """Days of recaps in advance; infinite where the set is not renewed so."""
    if not truth.planned:
        return np.full(len(since), np.inf)
    day = since + rng.exponential(1.0 / truth.planned, len(since))
    broken = other.happens & (other.day <= day) & (day < other.back)
    return np.where((day < until) & ~broken, day, np.inf)


def _checks(rng: Rng, truth: Truth, since: Floats, end: Floats) -> Floats:
    """Days of check-ins, (machines, enough of them to pass the end)."""
    most = int(np.ceil(1.6 * float((end - since).max()) / truth.gap)) + 10
    gaps = rng.gamma(4.0, truth.gap / 4.0, (len(since), most))
    return np.asarray(since[:, None] + np.cumsum(gaps, axis=1))


def _next(checks: Floats, day: Floats) -> Floats:
    """First check-in after a day; infinite where there is none."""
    return np.asarray(np.where(checks > day[:, None], checks, np.inf).min(axis=1))


def _others(
    rng: Rng, truth: Truth, checks: Floats, since: Floats, fails: Floats, end: Floats
) -> _Other:
    count = len(since)
    day = since + rng.exponential(1.0 / truth.other, count)
    told = np.where(rng.random(count) < truth.kind.prompt, day, _next(checks, day))
    right = rng.random(count) < _PUT_RIGHT
    back = np.where(right, bench(rng, told), np.inf)
    before = np.where(right, back, told) < fails
    return _Other(happens=(told < end) & before, day=day, told=told, back=back)
