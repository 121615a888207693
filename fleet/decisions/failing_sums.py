"""Sums over units, under each draw, of the chances to fail in each of some periods.

A unit counts with the chance that it lives (1 - p_failed_unseen) times its chance, given that it
lives, to fail between two days to come. Within a model the draws are joint, so sums over units
keep what all of them have in doubt together. METHODS: expected-failures, unit-draws, unseen
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from fleet.decisions.alike import Alike
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import UnitLaw, unit_law
from fleet.decisions.weibull_life import Floats, Whole

# Chances are summed over many units; single precision does, and is several times as fast.
_Short = npt.NDArray[np.float32]

_AT_ONCE = 512
_THREADS = 2
_LARGEST = np.float32(80.0)  # exp() of more overflows in single precision; nothing outlives it


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class FailingSums:
    """Of each group: sums of chances and of their squares, (groups, periods + 1, draws), the last
    for all periods together; weights of the draws, (groups, draws); units likely dead already.
    """

    mean: Floats
    squares: Floats
    weight: Floats
    dead: Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Part:
    """Sums of one block, one row for each of `rows` (twice the group, plus one where in doubt)."""

    rows: Whole
    mean: _Short
    squares: _Short
    likely: Floats
    counted: Floats
    dead: Floats


def failing_sums(lives: DrawnLives, alike: Alike, ends: Floats, *, groups: int) -> FailingSums:
    """Sums for `groups` groups over periods that end `ends` days from now, one after another."""
    draws = lives.draws
    mean = np.zeros((2 * groups, ends.size + 1, draws))
    squares = np.zeros((2 * groups, ends.size + 1, draws))
    likely, counted, dead = (
        np.zeros((2 * groups, draws)),
        np.zeros(2 * groups),
        np.zeros(2 * groups),
    )
    weight = np.full((groups, draws), 1.0 / draws)
    places, firsts = np.unique(alike.group, return_index=True)
    weight[places] = lives.weight[alike.units.cell[firsts]]
    weight /= weight.sum(axis=1, keepdims=True)

    def of(block: tuple[int, int, int]) -> _Part:
        first, last, start = block
        return _block(lives, alike, np.arange(first, last), ends, place_in_group=first - start)

    with ThreadPoolExecutor(_THREADS) as pool:
        for part in pool.map(of, _blocks(alike.group)):
            mean[part.rows] += part.mean
            squares[part.rows] += part.squares
            likely[part.rows] += part.likely
            counted[part.rows] += part.counted
            dead[part.rows] += part.dead
    doubted = levelled(mean[1::2], likely[1::2], counted[1::2], weight)
    moved = np.divide(doubted, mean[1::2], out=np.ones_like(doubted), where=mean[1::2] > 0.0)
    every = mean[0::2] + doubted
    return FailingSums(
        mean=every,
        squares=np.minimum(squares[0::2] + squares[1::2] * moved**2, every),
        weight=weight,
        dead=dead[0::2] + dead[1::2],
    )


def levelled(mean: Floats, likely: Floats, counted: Floats, weight: Floats) -> Floats:
    """Sums of units whose own law is in doubt, draw by draw.

    Each such unit weighs the draws by its own survival. That tells of what is its own, not of what
    is common to the model, so under each draw the weights of its units are levelled to 1; the
    expected number stays.
    """
    share = np.divide(likely, counted[:, None], out=np.ones_like(likely), where=likely > 0.0)
    level = mean / share[:, None, :]
    wanted, got = ((weight[:, None, :] * part).sum(axis=2) for part in (mean, level))
    ratio = np.divide(wanted, got, out=np.ones_like(got), where=got > 0.0)
    return np.asarray(level * ratio[:, :, None])


def _blocks(group: Whole) -> list[tuple[int, int, int]]:
    """First and last of each block of one group, and where its group starts: what is drawn for a
    unit must not hang on other groups.
    """
    starts = np.flatnonzero(np.concatenate(([True], group[1:] != group[:-1])))
    return [
        (first, min(first + _AT_ONCE, end), start)
        for start, end in pairwise([*starts.tolist(), group.size])
        for first in range(start, end, _AT_ONCE)
    ]


def _block(
    lives: DrawnLives, alike: Alike, place: Whole, ends: Floats, *, place_in_group: int
) -> _Part:
    units, many = alike.units.take(place), alike.many[place]
    law = unit_law(lives, units, place=place_in_group)
    base = lives.weight[units.cell]
    base = base / base.sum(axis=1, keepdims=True)
    doubt = np.divide(law.weight, base, out=np.ones_like(base), where=base > 0.0)
    own = (np.abs(doubt - 1.0) > 1e-9).any(axis=1)
    rows, which = np.unique(2 * alike.group[place] + own, return_inverse=True)
    ageing = _Ageing.of(law)
    alive = _alive(law, ageing, units.prompt_share)
    member = np.zeros((rows.size, place.size), np.float32)
    member[which, np.arange(place.size)] = 1.0
    count, twice = (member * (many * alive**power).astype(np.float32) for power in (1, 2))
    tilt = doubt.astype(np.float32) if own.any() else None

    def sums(failing: _Short) -> tuple[_Short, _Short]:
        tilted = failing if tilt is None else failing * tilt
        return count @ tilted, twice @ (tilted * tilted)

    now = ageing.hazard(ageing.age)
    found, living = [], np.ones_like(now)
    for end in ends:
        later = ageing.hazard(ageing.age + np.float32(end))
        np.subtract(now, later, out=later)
        np.exp(np.maximum(later, -_LARGEST, out=later), out=later)
        np.subtract(living, later, out=living)
        found.append(sums(living))
        living = later
    found.append(sums(1.0 - living))
    expected = many * alive * (law.weight * (1.0 - living)).sum(axis=1)
    member = member.astype(np.float64)
    return _Part(
        rows=rows,
        mean=np.stack([mean for mean, _ in found], axis=1),
        squares=np.stack([squares for _, squares in found], axis=1),
        likely=member @ (expected[:, None] * doubt),
        counted=member @ expected,
        dead=member @ (many * (1.0 - alive)),
    )


def _alive(law: UnitLaw, ageing: "_Ageing", prompt_share: Floats) -> Floats:
    """1 - p_failed_unseen: of the units that would not have told, those that live."""
    since = ageing.hazard(ageing.age) - ageing.hazard(law.seen.astype(np.float32))
    failed = (law.weight * -np.expm1(-np.clip(since, 0.0, _LARGEST))).sum(axis=1)
    silent = (1.0 - prompt_share) * failed
    dead = np.divide(silent, silent + (1.0 - failed), out=np.zeros_like(silent), where=silent > 0.0)
    return np.asarray(1.0 - dead)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Ageing:
    """Cumulative hazard of some units by the age of their present set, in single precision."""

    shape: _Short
    offset: _Short
    age: _Short
    old_shape: _Short | None
    old_offset: _Short | None
    older_by: _Short | None
    old_share: _Short | None

    @classmethod
    def of(cls, law: UnitLaw) -> "_Ageing":
        def short(values: Floats | None) -> _Short | None:
            return None if values is None else values.astype(np.float32)

        old_offset = None
        if law.old_shape is not None and law.old_log_scale is not None:
            old_offset = law.old_shape * law.old_log_scale
        return cls(
            shape=law.shape.astype(np.float32),
            offset=(law.shape * law.log_scale).astype(np.float32),
            age=law.age.astype(np.float32),
            old_shape=short(law.old_shape),
            old_offset=short(old_offset),
            older_by=short(law.older_by),
            old_share=short(law.old_share),
        )

    def hazard(self, age: _Short) -> _Short:
        """At an age of the present set, (units, draws)."""
        new = _power(self.shape, self.offset, age)
        if (
            self.old_share is None
            or self.old_shape is None
            or self.old_offset is None
            or self.older_by is None
        ):
            return new
        old = _power(self.old_shape, self.old_offset, age + self.older_by)
        return np.asarray((1.0 - self.old_share) * new + self.old_share * old)


def _power(shape: _Short, offset: _Short, age: _Short) -> _Short:
    with np.errstate(divide="ignore"):
        logs = np.log(age)
    np.multiply(logs, shape, out=logs)
    np.subtract(logs, offset, out=logs)
    return np.asarray(np.exp(np.minimum(logs, _LARGEST, out=logs), out=logs))
