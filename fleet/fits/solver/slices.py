"""Where the log-likelihood at a fixed shape is largest, and where it has fallen to a target."""

from collections.abc import Callable

import numpy as np

from fleet.fits.roots import newton_between
from fleet.fits.rows import Floats, Mask
from fleet.fits.solver.terms import Slice

_FAR = 700.0  # exp(c) neither overflows nor vanishes


def peak(cut: Slice, *, digits: float = 1e-13) -> Floats:
    """The c with the largest log-likelihood: unique, as the slice is concave in exp(c).

    Minus infinity where the likelihood falls from the start (scale running to infinity).
    """
    with np.errstate(all="ignore"):
        if cut.windows is None:
            return np.asarray(np.log(cut.balance / cut.a[0]))
        flat = (cut.balance == 0.0) & (cut.rise_at_no_hazard <= 0.0)
        start = np.log(cut.balance / -cut.rise_at_no_hazard)
    start = np.where(np.isfinite(start), start, 0.0)

    def slope(c: Floats) -> tuple[Floats, Floats]:
        _, first, second = cut.value(c)
        # Newton on the log of the two halves of the slope is nearly straight where both exist
        with np.errstate(all="ignore"):
            down = cut.balance - first
            ok = (cut.balance > 0.0) & (down > 0.0)
            value = np.where(ok, np.log(cut.balance / down), first)
            tilt = np.where(ok, second / down, second)
        return np.where(flat, 0.0, value), tilt

    low, high = _around(lambda c: slope(c)[0], start, flat)
    return np.where(
        flat, -np.inf, newton_between(slope, low, high, start, noise=cut.noise, digits=digits)
    )


def _around(
    falling: Callable[[Floats], Floats], start: Floats, settled: Mask
) -> tuple[Floats, Floats]:
    """A c where the function is at least 0 and one where it is below, by widening steps."""
    low, high, step = start, start, 1.0
    at_start = falling(start)
    rising, sinking = (at_start < 0.0) & ~settled, (at_start >= 0.0) & ~settled
    while (rising | sinking).any() and step <= 2.0 * _FAR:
        low = np.where(rising, np.maximum(low - step, -_FAR), low)
        high = np.where(sinking, np.minimum(high + step, _FAR), high)
        rising &= falling(low) < 0.0
        sinking &= falling(high) >= 0.0
        step *= 2.0
    # no change of sign as far as numbers go: the end is the answer
    return np.where(sinking, high, low), np.where(rising, low, high)


def crossing(
    cut: Slice, at_peak: Floats, target: Floats, upper: Mask, *, digits: float = 1e-13
) -> Floats:
    """The c above (where `upper`) or below the peak at which the log-likelihood is `target`.

    The peak itself where it does not lie above the target; minus infinity where the likelihood
    stays above the target down to no hazard at all.
    """
    top, _, bend = cut.value(at_peak)
    top = np.where(np.isneginf(at_peak), cut.at_no_hazard, top)
    inside = np.maximum(at_peak, -_FAR)
    drop = top - target
    # closer than this the two sides cannot be told from the peak
    touching = ~(drop > 1e-11)
    with np.errstate(all="ignore"):
        guess = np.sqrt(2.0 * drop / -bend)
    guess = np.where(guess > 0.0, np.minimum(guess, 20.0), 1.0)
    step = np.where(touching, 0.0, np.where(upper, guess, -guess))
    outside = np.clip(inside + step, -_FAR, _FAR)
    for _ in range(60):
        value = cut.value(outside)[0]
        short = (value >= target) & (np.abs(outside) < _FAR) & ~touching
        if not short.any():
            break
        step = np.where(short, 2.0 * step, step)
        outside = np.clip(np.where(short, outside + step, outside), -_FAR, _FAR)

    def excess(c: Floats) -> tuple[Floats, Floats]:
        value, slope, _ = cut.value(c)
        return np.where(np.isnan(value), -np.inf, value - target), slope

    inside = np.where(excess(outside)[0] >= 0.0, outside, inside)
    found = newton_between(excess, inside, outside, outside, digits=digits)
    root = np.where(touching, at_peak, found)
    return np.where(~upper & (cut.at_no_hazard >= target), -np.inf, root)
