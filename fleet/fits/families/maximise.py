"""The maximum of a smooth log-likelihood in a few parameters, for many groups at once."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fleet.fits.families.hazard_model import HazardModel, LifeSums
from fleet.fits.rows import Floats, Ints, Mask

_STEP = 1e-4  # of the differences: derivatives are good to eight digits
_EDGE = 1e-6  # this near the box's wall is on it
_PATIENCE = 8  # steps that gain nothing before a search is given up
_BATCH = 4  # groups from which leaving out those that have arrived pays
_STEEP = 1e-7  # curvature per failure below which a likelihood counts as flat


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Top:
    """`theta` (parameters, groups), the value there, and whether it is a maximum inside the box."""

    theta: Floats
    value: Floats
    inside: Mask


def _derivatives(
    function: Callable[[Floats], Floats], theta: Floats, free: Sequence[int]
) -> tuple[Floats, Floats]:
    """Gradient (groups, k) and Hessian (groups, k, k) by central differences."""
    k, groups = len(free), theta.shape[1]
    pairs = list(combinations(range(k), 2))
    moves = np.zeros((1 + 2 * k + 2 * len(pairs), len(theta)))
    for i, p in enumerate(free):
        moves[1 + 2 * i, p], moves[2 + 2 * i, p] = _STEP, -_STEP
    for n, (i, j) in enumerate(pairs):
        row = 1 + 2 * k + 2 * n
        moves[row, [free[i], free[j]]], moves[row + 1, [free[i], free[j]]] = _STEP, -_STEP
    values = function(theta[:, None, :] + moves.T[:, :, None])
    middle, up, down = values[0], values[1 : 1 + 2 * k : 2], values[2 : 2 + 2 * k : 2]
    gradient = (up - down) / (2.0 * _STEP)
    hessian = np.empty((groups, k, k))
    for i in range(k):
        hessian[:, i, i] = (up[i] - 2.0 * middle + down[i]) / _STEP**2
    for n, (i, j) in enumerate(pairs):
        both, neither = values[1 + 2 * k + 2 * n], values[2 + 2 * k + 2 * n]
        mixed = both - up[i] - up[j] + 2.0 * middle - down[i] - down[j] + neither
        hessian[:, i, j] = hessian[:, j, i] = mixed / (2.0 * _STEP**2)
    return gradient.T, hessian


def maximise(
    sums: LifeSums,
    model: HazardModel,
    start: Floats,
    *,
    free: Sequence[int] | None = None,
    steps: int = 120,
) -> Top:
    """The highest point of the log-likelihood of `model` that `start` leads to, in each group.

    Newton steps along the axes of the curvature, damped until each one gains. `start` is
    (parameters, groups). `free`: the parameters to move (all). Groups that have arrived are left
    out of the work once they are half of all.
    """
    weight = sums.failures

    def function(theta: Floats) -> Floats:
        return sums.log_likelihood(model, theta)

    box_low, box_high = np.array(model.low)[:, None], np.array(model.high)[:, None]
    chosen = list(range(len(start))) if free is None else list(free)
    theta = np.clip(np.array(start, dtype=np.float64), box_low, box_high)
    value = function(theta)
    damping = np.full(theta.shape[1], 1e-3)
    busy: Mask = np.isfinite(value)

    def inside() -> Mask:
        near = ((theta <= box_low + _EDGE) | (theta >= box_high - _EDGE))[chosen].any(axis=0)
        return np.asarray(np.isfinite(value) & ~flat & ~near & ~busy)

    flat: Mask = np.zeros(theta.shape[1], dtype=bool)
    idle = np.zeros(theta.shape[1], dtype=np.int64)
    for step in range(steps):
        with np.errstate(all="ignore"):
            gradient, hessian = _derivatives(function, theta, chosen)
        sound = np.asarray(
            np.isfinite(gradient).all(axis=1) & np.isfinite(hessian).all(axis=(1, 2))
        )
        busy &= sound
        hessian = np.where(sound[:, None, None], hessian, -np.eye(len(chosen)))
        gradient = np.where(sound[:, None], gradient, 0.0)
        gradient, hessian = _held(
            gradient, hessian, (theta <= box_low)[chosen].T, (theta >= box_high)[chosen].T
        )
        curve, axes = np.linalg.eigh(-hessian)
        flat = ~sound | (curve[:, 0] < _STEEP * np.maximum(weight, 1.0))
        along = np.einsum("gij,gi->gj", axes, gradient)
        firm = np.maximum(np.abs(curve), 1e-9 * np.maximum(weight, 1.0)[:, None])
        move = np.einsum("gij,gj->gi", axes, along / (firm + (damping * firm[:, -1])[:, None]))
        longest = np.abs(move).max(axis=1)
        move *= np.minimum(1.0, 1.5 / np.where(longest > 0.0, longest, 1.0))[:, None]
        new = theta.copy()
        new[chosen] += move.T
        new = np.clip(new, box_low, box_high)
        reached = function(new)
        gain = reached - value
        # differences smaller than rounding decide nothing: take the step and stop
        noise = 1e-11 + 1e-14 * np.abs(value)
        better = busy & (gain >= -noise)
        moved = np.abs(new - theta).max(axis=0)
        theta, value = np.where(better, new, theta), np.where(better, reached, value)
        eased = np.where(damping < 1e-9, 0.0, 0.1 * damping)
        damping = np.where(better, eased, np.maximum(10.0 * damping, 1e-3))
        done = np.where(better, (np.abs(gain) <= noise) & (moved < 1e-5), moved < 1e-10)
        busy &= ~done
        # creeping along a ridge: no maximum there, or none worth the walk
        idle = np.where(np.abs(gain) < 1e-8, idle + 1, 0)
        going = busy & (idle < _PATIENCE)
        if not going.any():
            break
        if going.sum() <= 0.5 * len(going) and len(going) > _BATCH:
            which = np.flatnonzero(going)
            rest = maximise(
                sums.some(which), model, theta[:, which], free=free, steps=steps - step - 1
            )
            theta[:, which], value[which] = rest.theta, rest.value
            return Top(theta=theta, value=value, inside=_put(inside(), which, rest.inside))
    return Top(theta=theta, value=value, inside=inside())


def _held(gradient: Floats, hessian: Floats, at_low: Mask, at_high: Mask) -> tuple[Floats, Floats]:
    """The same with parameters that push against a wall of the box held there."""
    held = (at_low & (gradient < 0.0)) | (at_high & (gradient > 0.0))
    if not held.any():
        return gradient, hessian
    stiff = -np.abs(hessian).max(axis=(1, 2))[:, None, None] * np.eye(gradient.shape[1])
    either = held[:, :, None] | held[:, None, :]
    return np.where(held, 0.0, gradient), np.where(either, stiff, hessian)


def _put(values: Mask, which: Ints, new: Mask) -> Mask:
    out = values.copy()
    out[which] = new
    return out
