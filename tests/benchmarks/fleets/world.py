"""The truth of one fleet, and machines drawn from it, before anybody tells of them."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.ages import DAYS_PER_YEAR
from fleets.kinds import Kind, Range
from fleets.life import Floats, Law

Whole = NDArray[np.int64]
Flags = NDArray[np.bool_]
Rng = np.random.Generator


def day_of(year: float) -> float:
    """First of January as days since 1970."""
    return float((np.datetime64(f"{int(year)}-01-01") - np.datetime64("1970-01-01")).astype(int))


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Truth:
    """What is true of one fleet (one model of machine). Days, and rates a day."""

    kind: Kind
    law: Law
    scale: float
    batch_sd: float
    batch_scales: Floats
    batch_shares: Floats
    batch_bad: Floats  # share of bad sets in each batch
    by_time: bool  # batches follow one another in time; else mixed
    renewed_scale: float  # of sets after the first
    join: float
    failure_only: float  # a chance
    remembers: float  # mean days after which an old failure is no longer told; infinite: never
    gap: float
    other: float
    planned: float
    heat_strength: float  # 1: life halves every ten kelvin
    calendar_share: float  # of ageing that goes on unpowered
    cost: float  # of a failure, in planned recaps


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Machines:
    """Machines as built. `start`, `scale`, `fails` have one column for each position."""

    built: Floats
    batch: Whole
    ambient_c: Floats
    hours_per_year: Floats
    factor: Floats  # on the life, of heat and use
    start: Floats
    scale: Floats
    fails: Floats  # day on which the position fails


def draw_truth(rng: Rng, kind: Kind) -> Truth:
    """Draw a fleet from its class."""
    shape, scale, sd = (
        _within(rng, kind.shape),
        _within(rng, kind.scale),
        _within(rng, kind.batch_sd),
    )
    count = int(rng.integers(kind.batches[0], kind.batches[1] + 1))
    # t with 3 degrees of freedom has variance 3: the same spread with heavier tails.
    noise = rng.standard_t(3, count) / np.sqrt(3.0) if kind.heavy_tails else rng.normal(size=count)
    bad = rng.uniform(0.1, 0.3, count) * (rng.random(count) < 0.5)
    law = Law(
        form=kind.form,
        shape=shape,
        free=float(rng.uniform(0.2, 0.5)) if kind.form == "failure_free" else 0.0,
        bad_factor=float(rng.uniform(0.25, 0.5)) if kind.form == "bad_share" else 1.0,
    )
    days = scale * DAYS_PER_YEAR
    return Truth(
        kind=kind,
        law=law,
        scale=days,
        batch_sd=sd,
        batch_scales=days * np.exp(sd * noise),
        batch_shares=rng.dirichlet(np.full(count, 2.0)),
        batch_bad=bad if kind.form == "bad_share" else np.zeros(count),
        by_time=bool(rng.random() < 0.5),
        renewed_scale=days * float(np.exp(rng.normal(0.0, 0.4))),
        join=_within(rng, kind.join) / DAYS_PER_YEAR,
        failure_only=_within(rng, kind.failure_only),
        remembers=float(rng.uniform(3.0, 12.0)) * DAYS_PER_YEAR if kind.forgetting else np.inf,
        gap=_within(rng, kind.gap) * DAYS_PER_YEAR,
        other=_within(rng, kind.other) / DAYS_PER_YEAR,
        planned=_rare(rng, kind.planned) / DAYS_PER_YEAR,
        heat_strength=float(rng.uniform(0.7, 1.3)) if kind.heat == "matters" else 0.0,
        calendar_share=float(rng.uniform(0.2, 0.8)) if kind.heat == "matters" else 1.0,
        cost=_within(rng, kind.cost),
    )


def draw_machines(rng: Rng, truth: Truth, count: int) -> Machines:
    """Draw machines with their factory sets."""
    first, last = day_of(truth.kind.built[0]), day_of(truth.kind.built[1] + 1)
    place = rng.random(count)
    built = first + place * (last - first)
    mixed = rng.random(count)
    edges = np.cumsum(truth.batch_shares)[:-1]
    batch = np.searchsorted(edges, place if truth.by_time else mixed).astype(np.int64)
    ambient = np.clip(rng.normal(25.0, 7.0, count), 5.0, 55.0).round(1)
    hours = np.clip(2000.0 * np.exp(rng.normal(0.0, 0.7, count)), 50.0, 8700.0).round(0)
    factor = life_factor(truth, ambient, hours)
    is_bad = rng.random(count) < truth.batch_bad[batch]
    scale = truth.batch_scales[batch] * factor
    start = np.repeat(built[:, None], 2, axis=1)
    scales = np.repeat(scale[:, None], 2, axis=1)
    lived = np.where(is_bad, truth.law.bad_factor, 1.0)[:, None] * scales
    return Machines(
        built=built,
        batch=batch,
        ambient_c=ambient,
        hours_per_year=hours,
        factor=factor,
        start=start,
        scale=scales,
        fails=start + lived * draw_lives(rng, truth.law, (count, 2)),
    )


def life_factor(truth: Truth, ambient_c: Floats, hours_per_year: Floats) -> Floats:
    """How many times as long a set lives for its heat and use.

    2^(-(T - 25)/10 s) for temperature T in degrees C and strength s (the ten-kelvin rule at
    s = 1), over c + (1 - c) h / 2000 for h powered hours a year and calendar share c.
    """
    heat = 2.0 ** (-(ambient_c - 25.0) / 10.0 * truth.heat_strength)
    share = truth.calendar_share
    return np.asarray(heat / (share + (1.0 - share) * hours_per_year / 2000.0))


def draw_lives(rng: Rng, law: Law, size: tuple[int, ...]) -> Floats:
    """Lives of positions (half the hazard of a set) in scales."""
    return law.age_at(2.0 * rng.exponential(size=size))


def _within(rng: Rng, ends: Range) -> float:
    return float(rng.uniform(*ends))


def _rare(rng: Rng, ends: Range) -> float:
    """As `_within`, but what never happens draws no number: other classes stay as they were."""
    return _within(rng, ends) if ends[1] > 0.0 else 0.0
