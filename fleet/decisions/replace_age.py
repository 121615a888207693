"""The age at which new parts pay, for Weibull lives.

Classic age replacement (Barlow and Hunter 1960, Operations Research 8): the same life over and
over costs C(T) = [cp R(T) + cf F(T)] / ∫_0^T R a day, cp the planned and cf the failure cost.
Its minimum solves W(T) = h(T) ∫_0^T R - F(T) = cp / (cf - cp), and there C = (cf - cp) h(T).

One-time replacement: the present parts are replaced once, and
every day after costs g. From age a on, J(T) = [cp R(T) + cf (R(a) - R(T)) - g ∫_a^T R] / R(a);
J'(T) has the sign of (cf - cp) h(T) - g. So with a rising hazard the best age solves
(cf - cp) h(T) = g, at whatever age it is asked; with a hazard that falls or stays it is now or
never: now while g times the mean life left is below cf - cp.
"""

# METHODS: age-replacement, one-time-replacement

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from fleet.decisions.weibull_life import LARGEST, Floats, floats, mean_life, mean_life_left

_ROUNDS = 100


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class BestAge:
    """Best replacement ages of many lives, element by element.

    `age`: infinite means never. `rate`: cost per unit of age in the long run under that advice.
    """

    age: Floats
    rate: Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class BestOnce:
    """Best ages for replacing the present parts once, element by element.

    A unit that lives at age a: replace at max(a, `wait`); but at once where a <= `now_until`
    (lives whose hazard does not rise). Infinite `wait` means never, `now_until` -1 never now.
    """

    wait: Floats
    now_until: Floats

    def given_alive(self, age: ArrayLike) -> Floats:
        """Best age for units alive at `age` (broadcast): at least that age, or infinite."""
        alive = np.asarray(age, float)
        return np.where(alive <= self.now_until, alive, np.maximum(alive, self.wait))


def age_replacement_weibull(
    shape: ArrayLike, scale: ArrayLike, planned: ArrayLike, failure: ArrayLike
) -> BestAge:
    """Classic age replacement for many lives at once (arrays broadcast).

    `shape` and `scale` of the Weibull, costs `planned` and `failure` of one occasion. Never, and
    the rate of running to failure, where shape <= 1 or failure <= planned. Ages are right to
    about 1e-13 relative, but for 1e-16 / (shape - 1) where the shape comes close to 1.

    >>> best = age_replacement_weibull(2.5, 1000.0, 1.0, 5.0)
    >>> round(float(best.age), 4), round(float(best.rate), 9)
    (493.047, 0.003462043)
    """
    shape, scale, planned, failure = floats(shape, scale, planned, failure)
    age = np.full(shape.shape, np.inf)
    mean = mean_life(shape, scale)
    with np.errstate(over="ignore"):
        rate = np.asarray(failure / mean)
    pays = (shape > 1.0) & (failure > planned)
    if pays.any():
        b, extra = shape[pays], (failure - planned)[pays]
        log_age = _classic_log_age(b, np.log(planned[pays]) - np.log(extra))
        with np.errstate(over="ignore"):
            age[pays] = scale[pays] * np.exp(log_age)
            best = extra / scale[pays] * b * np.exp((b - 1.0) * log_age)
        rate[pays] = np.minimum(best, rate[pays])
    return BestAge(age=age, rate=rate)


def _classic_log_age(shape: Floats, log_ratio: Floats) -> Floats:
    """Root in y = log(T/scale) of log W(y) = log_ratio, by Newton kept within a bracket.

    W = ∫_0^T h'(s) M(s) ds with M(s) = ∫_0^s R: M <= s gives the lower end, and hμ - 1 <= W
    (the Mills ratio of a rising hazard is below 1/h) the upper. Log W is concave in y, so from
    the lower end Newton comes up to the root without passing it.
    """
    from scipy.special import gammaln

    log_mean = gammaln(1.0 + 1.0 / shape)
    low = (log_ratio - np.log(shape - 1.0)) / shape
    high = (np.logaddexp(0.0, log_ratio) - np.log(shape) - log_mean) / (shape - 1.0)
    y: Floats = np.minimum(low, high)
    todo = np.arange(y.size)
    for _ in range(_ROUNDS):
        value, slope = _log_gain(y[todo], shape[todo], log_mean[todo])
        value = value - log_ratio[todo]
        low[todo] = np.where(value <= 0, y[todo], low[todo])
        high[todo] = np.where(value >= 0, y[todo], high[todo])
        with np.errstate(divide="ignore", invalid="ignore"):
            new = y[todo] - value / slope
        inside = (new >= low[todo]) & (new <= high[todo])
        new = np.where(inside, new, (low[todo] + high[todo]) / 2.0)
        moved = np.abs(new - y[todo])
        y[todo] = new
        todo = todo[moved > 2e-15 * np.maximum(1.0, np.abs(new))]
        if todo.size == 0:
            break
    return y


def _log_gain(y: Floats, shape: Floats, log_mean: Floats) -> tuple[Floats, Floats]:
    """Log W and its slope in y; -inf where W is lost to rounding."""
    from scipy.special import gammainc

    x = np.exp(np.minimum(shape * y, LARGEST))
    steep = shape * np.exp(np.minimum((shape - 1.0) * y + log_mean, LARGEST))
    product = steep * gammainc(1.0 / shape, x)
    gain = product + np.expm1(-x)
    with np.errstate(divide="ignore", invalid="ignore"):
        return (
            np.where(gain > 0, np.log(np.maximum(gain, 0.0)), -np.inf),
            np.where(gain > 0, (shape - 1.0) * product / gain, 0.0),
        )


def one_time_weibull(
    shape: ArrayLike, scale: ArrayLike, planned: ArrayLike, failure: ArrayLike, rate: ArrayLike
) -> BestOnce:
    """Best age to replace the present parts once, when every day after costs `rate`.

    Arrays broadcast; `rate` (above zero) is in costs per unit of age. With the classic rate of
    the same life the best age is the classic one. Never where failure <= planned.

    >>> once = one_time_weibull(2.5, 1000.0, 1.0, 5.0, 0.003462043)
    >>> round(float(once.wait), 3)
    493.047
    """
    shape, scale, planned, failure, rate = floats(shape, scale, planned, failure, rate)
    wait = np.full(shape.shape, np.inf)
    now_until = np.full(shape.shape, -1.0)
    pays = failure > planned
    rising = pays & (shape > 1.0)
    if rising.any():
        b = shape[rising]
        log_hazard = np.log(rate[rising]) - np.log((failure - planned)[rising])
        with np.errstate(over="ignore"):
            wait[rising] = scale[rising] * np.exp(
                (log_hazard + np.log(scale[rising]) - np.log(b)) / (b - 1.0)
            )
    other = pays & (shape <= 1.0)
    if other.any():
        enough = (failure - planned)[other] / rate[other]
        now_until[other] = _age_with_life_left(shape[other], scale[other], enough)
    return BestOnce(wait=wait, now_until=now_until)


def _age_with_life_left(shape: Floats, scale: Floats, wanted: Floats) -> Floats:
    """Age at which the mean life left grows to `wanted`, for shape <= 1.

    -1 where it is that long from new; infinite for shape 1 where it never gets there. A hazard
    that falls has a mean life left above 1/h, which bounds the age from above.
    """
    out = np.where(mean_life(shape, scale) >= wanted, -1.0, np.inf)
    todo = (out > 0) & (shape < 1.0)
    b, s, want = shape[todo], scale[todo], wanted[todo]
    high = np.log(s) + np.minimum(np.log(want * b / s) / (1.0 - b), LARGEST - 50.0)
    low = high - LARGEST
    for _ in range(_ROUNDS):
        middle = (low + high) / 2.0
        short = mean_life_left(b, s, np.exp(middle)) < want
        low, high = np.where(short, middle, low), np.where(short, high, middle)
    out[todo] = np.exp(high)
    return out
