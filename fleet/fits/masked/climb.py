"""The top of a law, and how far along any one quantity the top lies within a drop.

METHODS: masked-causes.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask

FLATTEST, STEEPEST = 0.02, 100.0  # shapes sought
_NONE = 1e-10  # failures, as a part of all, that count as none
_WALL = 1e-4  # in log shape: this near to the end of the search is at its end
_STEPS = 200
_NOWHERE = 1e100  # stands for a likelihood of 0

Slope = Callable[[Floats], tuple[float, Floats]]


class Law(Protocol):
    """A log-likelihood of z: `shapes` log shapes, then a level for each of `columns`."""

    shapes: int
    columns: int
    failures: float

    def __call__(self, z: Floats) -> tuple[float, Floats]:
        """Value and slope."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Top:
    """The highest point found, and its value. Levels of 0 are exactly 0."""

    z: Floats
    value: float


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Tie:
    """One element of z as a function of the others: `of(z)` gives its value and its slope."""

    place: int
    of: Callable[[Floats], tuple[float, Floats]]


def climb(law: Law, start: Floats, *, fixed: Ints | None = None, tie: Tie | None = None) -> Top:
    """The highest point reached from `start`, with some of z fixed and one tied to the rest."""
    held = set() if fixed is None else {int(i) for i in fixed}
    if tie is not None:
        held.add(tie.place)
    free = np.array([i for i in range(len(start)) if i not in held], dtype=np.int64)
    floor = _NONE * law.failures
    z = start.copy()
    z[law.shapes :] = np.maximum(z[law.shapes :], floor)

    def put(x: Floats) -> tuple[Floats, Floats | None]:
        full = z.copy()
        full[free] = x
        if tie is None:
            return full, None
        full[tie.place], slope = tie.of(full)
        return full, slope

    def down(x: Floats) -> tuple[float, Floats]:
        full, tied = put(x)
        with np.errstate(all="ignore"):
            value, slope = law(full)
        along = slope[free] if tied is None else slope[free] + slope[place] * tied[free]
        if not np.isfinite(value) or not np.isfinite(along).all():
            return _NOWHERE, np.zeros(len(free))
        return -value, -along

    place = 0 if tie is None else tie.place
    shape = free < law.shapes
    low = np.where(shape, np.log(FLATTEST), floor)
    high = np.where(shape, np.log(STEEPEST), np.inf)
    x = descend(down, z[free], low, high, shape) if len(free) else z[free]
    full, _ = put(x)
    value = -down(x)[0]
    level = full[law.shapes :]
    level[level <= 1.0001 * floor] = 0.0
    return Top(z=full, value=value)


def descend(down: Slope, x: Floats, low: Floats, high: Floats, shape: Mask) -> Floats:
    """Damped Newton steps between bounds; second derivatives by differences of slopes.

    Elements that are no log shape are levels above 0: a step takes away at most nine tenths of
    one, but one that has become small and still falls goes to its bound at once.
    """
    value, slope = down(x)
    for _ in range(_STEPS):
        stuck = ((x <= low) & (slope >= 0.0)) | ((x >= high) & (slope <= 0.0))
        inner = np.flatnonzero(~stuck)
        if not len(inner) or value >= _NOWHERE:
            break
        step = np.zeros(len(x))
        step[inner] = _newton(down, x, slope, inner, shape)
        gain = -float(slope @ step)
        if gain < 1e-18 * (1.0 + abs(value)):
            break
        part, moved = _longest(step, shape), False
        while part > 1e-10:
            new = x + part * step
            small = ~shape & (x < 1e6 * low) & (slope > 0.0) & (new < x)
            new = np.where(shape, new, np.maximum(new, 0.1 * x))
            new = np.clip(np.where(small, low, new), low, high)
            at_new = down(new)
            if at_new[0] <= value - 1e-4 * part * gain or (
                part == 1.0 and at_new[0] <= value + 1e-14 * (1.0 + abs(value)) and gain < 1e-9
            ):
                moved = True
                break
            part *= 0.5
        if not moved:
            break
        x, (value, slope) = new, at_new
    return x


def _newton(down: Slope, x: Floats, slope: Floats, inner: Ints, shape: Mask) -> Floats:
    """A step downhill in the elements `inner`: curvatures the wrong way are turned round."""
    bend = np.empty((len(inner), len(inner)))
    size = np.where(shape, 1.0, x)[inner]
    for row, i in enumerate(inner):
        near = x.copy()
        near[i] += 1e-6 * size[row]
        bend[row] = (down(near)[1] - slope)[inner] / 1e-6
    scaled = bend * size[None, :]
    curve, turn = np.linalg.eigh(0.5 * (scaled + scaled.T))
    curve = np.maximum(np.abs(curve), 1e-9 * max(np.abs(curve).max(), 1e-300))
    return np.asarray(-(turn @ ((turn.T @ (slope[inner] * size)) / curve)) * size)


def _longest(step: Floats, shape: Mask) -> float:
    """The part of a step that moves no log shape by more than 1."""
    widest = np.abs(step[shape]).max(initial=0.0)
    return 1.0 if widest <= 1.0 else float(1.0 / widest)


def at_the_end(law: Law, top: Top) -> Ints:
    """Columns (or 0 for the one shape) whose shape is at the end of the search, failures or not."""
    shapes = top.z[: law.shapes]
    ends = np.minimum(np.abs(shapes - np.log(FLATTEST)), np.abs(shapes - np.log(STEEPEST)))
    some = np.ones(law.shapes, dtype=bool)
    if law.shapes > 1:
        some = top.z[law.shapes :] > 1e-6 * law.failures
    return np.asarray(np.flatnonzero((ends < _WALL) & some), dtype=np.int64)


def limit(profile: Callable[[float], float], start: float, end: float, drop: float) -> float | None:
    """Where `profile` (how far the top has fallen) crosses `drop`, from `start` towards `end`.

    None where it does not before `end`. Solved in the root of twice the fall, which is nearly
    straight.
    """
    from scipy.optimize import brentq

    goal = np.sqrt(2.0 * drop)

    def short(at: float) -> float:
        return float(goal - np.sqrt(2.0 * max(profile(at), 0.0)))

    sign = 1.0 if end > start else -1.0
    inner, step = start, 0.25
    while True:
        outer = inner + sign * step
        if sign * outer >= sign * end:
            outer = end
        if short(outer) < 0.0:
            return float(brentq(short, inner, outer, xtol=1e-10, rtol=1e-10))
        if outer == end:
            return None
        inner, step = outer, 2.0 * step
