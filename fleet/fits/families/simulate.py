"""Lives drawn anew from a Weibull, watched as the lives of one group were. METHODS: departure."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.fits.families.scheme import Scheme
from fleet.fits.rows import Floats, Ints, Rows


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Seen:
    """Some drawn lives: the draw each belongs to, what was seen of it, and its weight."""

    draw: Ints
    entry: Floats
    low: Floats
    high: Floats
    known_by: Floats
    weight: Floats


def draw_lives(
    scheme: Scheme, shape: float, log_scale: float, draws: int, rng: np.random.Generator
) -> tuple[Rows, Floats]:
    """`draws` groups of lives like those of `scheme`, and the ages of the failures among them.

    ``S(t) = exp(-(t / scale) ** shape)`` with the scale in parts of the scheme's largest age, as
    are the ages that come back. A life drawn is a life that survives its entry.
    """
    law = _Weibull(shape, log_scale)
    still, later, later_ages = _good(scheme, law, draws, rng)
    failed, ages = _failed(scheme, law, draws, rng)
    return _join([still, later, failed], draws), np.concatenate([later_ages, ages])


@dataclass(frozen=True, slots=True)
class _Weibull:
    shape: float
    log_scale: float

    def hazard(self, ages: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            return np.asarray(np.exp(self.shape * (np.log(ages) - self.log_scale)))

    def age(self, hazard: Floats) -> Floats:
        with np.errstate(divide="ignore"):
            return np.asarray(np.exp(np.log(hazard) / self.shape + self.log_scale))

    def between(self, low: Floats, high: Floats, chance: Floats) -> Floats:
        """Ages of failure given that they lie in (low, high], by their place in between."""
        start = self.hazard(low)
        whole = -np.expm1(start - self.hazard(high))
        age = self.age(start - np.log1p(-chance * whole))
        return np.clip(age, np.nextafter(low, np.inf), high)


def _good(
    s: Scheme, law: _Weibull, draws: int, rng: np.random.Generator
) -> tuple[_Seen, _Seen, Floats]:
    """Lives that were still good: some of them fail this time."""
    chance = -np.expm1(law.hazard(s.good_entry) - law.hazard(s.good_end))
    fails = rng.binomial(s.good_number, chance, size=(draws, len(chance)))
    draw, row = np.nonzero(s.good_number - fails)
    none = np.full(len(draw), np.nan)
    still = _Seen(
        draw=draw,
        entry=s.good_entry[row],
        low=s.good_end[row],
        high=none,
        known_by=none,
        weight=s.good_weight[row] * (s.good_number - fails)[draw, row],
    )
    draw, row = np.nonzero(fails)
    times = fails[draw, row]
    draw, row = np.repeat(draw, times), np.repeat(row, times)
    entry, end = s.good_entry[row], s.good_end[row]
    age = law.between(entry, end, rng.random(len(row)))
    step = _borrow(s, len(row), rng)
    low, high = _look(s, age, entry, end, step, end)
    later = _Seen(
        draw=draw,
        entry=entry,
        low=low,
        high=high,
        known_by=none_like(age),
        weight=s.good_weight[row],
    )
    return still, later, age


def none_like(values: Floats) -> Floats:
    """As many blanks."""
    return np.full(len(values), np.nan)


def _borrow(s: Scheme, size: int, rng: np.random.Generator) -> Floats:
    """How long the interval of a failure was, 0 for exact: taken from one that failed."""
    ordinary = np.isnan(s.fail_known)
    use = ordinary if ordinary.any() else np.ones(len(ordinary), dtype=bool)
    if not use.any():
        return np.zeros(size)
    weight = np.cumsum(s.fail_weight[use])
    chosen = np.searchsorted(weight, rng.random(size) * weight[-1], "right")
    return np.asarray((s.fail_high - s.fail_low)[use][np.minimum(chosen, len(weight) - 1)])


def _look(
    s: Scheme, age: Floats, entry: Floats, end: Floats, step: Floats, anchor: Floats
) -> tuple[Floats, Floats]:
    """The interval in which a failure at `age` is found; its lives are watched up to `end`."""
    if s.looks == "one":
        return entry, end
    if s.looks == "shared":
        after = np.searchsorted(s.look_ages, age, "left")
        ages = np.concatenate([[0.0], s.look_ages, [np.inf]])
        return np.maximum(ages[after], entry), np.minimum(ages[after + 1], end)
    safe = np.where(step > 0.0, step, 1.0)
    high = anchor + np.ceil((age - anchor) / safe) * safe
    high = np.maximum(high, age)
    low = np.where(step > 0.0, np.maximum(np.minimum(high - safe, age), entry), age)
    return low, np.where(step > 0.0, np.minimum(high, end), age)


def _failed(s: Scheme, law: _Weibull, draws: int, rng: np.random.Generator) -> tuple[_Seen, Floats]:
    """Lives that failed: this time some outlast their watch."""
    shape = (draws, len(s.fail_entry))
    entry, low, high, known, weight = (
        np.broadcast_to(v, shape).ravel()
        for v in (s.fail_entry, s.fail_low, s.fail_high, s.fail_known, s.fail_weight)
    )
    only = ~np.isnan(known)
    end = np.where(only, known, entry + _watch(s, (high - entry), rng))
    if s.looks == "one":
        end = np.where(only, known, high)
    chance = rng.random(len(entry))
    age = law.between(entry, np.where(only, known, np.inf), chance)
    step = high - low
    if s.looks == "one":
        at_low, at_high = (
            np.where(only & (step == 0.0), age, entry),
            np.where(only & (step == 0.0), age, end),
        )
    else:
        at_low, at_high = _look(s, age, entry, end, step, low)
    outlived = (age > end) | np.isinf(at_high)
    last = end
    if s.looks == "shared" and len(s.look_ages):
        last = np.where(np.isinf(end), s.look_ages[-1], end)
    at_low = np.where(outlived, np.maximum(last, entry), at_low)
    seen = _Seen(
        draw=np.repeat(np.arange(draws), shape[1]),
        entry=entry,
        low=at_low,
        high=np.where(outlived, np.nan, at_high),
        known_by=known,
        weight=weight,
    )
    return seen, age[~outlived]


def _watch(s: Scheme, lasted: Floats, rng: np.random.Generator) -> Floats:
    """A watching time at least as long as `lasted`, from those that were."""
    chance = rng.random(len(lasted))
    if len(s.left) == 0:
        return np.full(len(lasted), np.inf)
    by = np.concatenate([[0.0], s.left_by])
    before = by[np.searchsorted(s.left, lasted, "left")]
    target = 1.0 - (1.0 - before) * chance
    at = np.searchsorted(s.left_by, target, "left")
    times = np.append(s.left, s.longest)
    return np.asarray(np.maximum(times[at], lasted))


def _join(parts: list[_Seen], draws: int) -> Rows:
    """All drawn lives as one group a draw; lives that were watched for no time are left out."""
    columns = {
        name: np.concatenate([getattr(part, name) for part in parts])
        for name in ("draw", "entry", "low", "high", "known_by", "weight")
    }
    watched = (columns["low"] > columns["entry"]) | ~np.isnan(columns["high"])
    columns = {name: values[watched] for name, values in columns.items()}
    order = np.argsort(columns["draw"], kind="stable")
    sizes = np.bincount(columns["draw"], minlength=draws)
    return Rows(
        keys=pl.DataFrame({"draw": np.arange(draws)}),
        starts=np.concatenate(([0], np.cumsum(sizes))).astype(np.int64),
        entry=columns["entry"][order],
        low=columns["low"][order],
        high=columns["high"][order],
        known_by=columns["known_by"][order],
        count=columns["weight"][order],
    )
