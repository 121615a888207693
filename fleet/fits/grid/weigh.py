"""The posterior of one model on a grid: shape, typical scale, spread, heat and use, memory.

Log batch scales are normal around the model's typical one with the model's spread, and are
integrated out on nodes of their own. The grid is laid again a few times where the weight lies.
Before that the likelihood is raised to a power below 1, so that the first wide grid cannot step
over a narrow peak. METHODS: posterior
"""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.evidence import Evidence
from fleet.fits.grid.forgetting import MEMORIES, forgetting_terms
from fleet.fits.grid.row_terms import mixed_terms, plain_terms
from fleet.fits.grid.settings import Axes, Sizes, StressPoint, first_axes, stress_points, zoom
from fleet.fits.grid.site_law import Pilot, site_law
from fleet.fits.grid.stress import SiteLaw
from fleet.fits.prior import Prior

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]

SPREADS = np.array([0.0, 0.08, 0.16, 0.26, 0.38, 0.55, 0.8, 1.15])
_FULL = 10.0  # so many failures a model may have for its likelihood to be used whole at once
_STEP = 10.0
_NEGLIGIBLE = 1e-3
_PILOT_FAILURES, _PILOT_SETS = 3.0, 10.0  # without blanks, to learn the law of what is blank
_TINY = 1e-300
_HAT = 0.35  # of a step: what a spread below the step is widened by


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Weighed:
    """The last grid with its weights.

    `weight`: (points, shapes, centres, spreads), adding up to 1, a point being one of `stress`
    with one memory. `log_likelihood`: (points, cells, shapes, scales). `kernel`: (cells, scales,
    centres, spreads), the law of a cell's log scale given centre and spread.
    """

    axes: Axes
    stress: tuple[StressPoint, ...]
    weight: Floats
    log_likelihood: Floats
    kernel: Floats
    site_law: SiteLaw


def weigh(evidence: Evidence, renewed: Mask, prior: Prior, sizes: Sizes) -> Weighed:
    """Weigh the grid of one model. `renewed` (cells): sets after the first."""
    axes = first_axes(evidence, prior)
    blank = evidence.site.blank
    full = evidence.take(~blank)
    few = full.failures < _PILOT_FAILURES or full.count.sum() < _PILOT_SETS
    if not few and blank.any():
        found = _weigh(full, renewed, prior, replace(sizes, fine=sizes.rough), axes)
        law = site_law(full, _pilot(found))
        evidence = replace(evidence, site=replace(evidence.site, law=law))
        # the rows without blanks have told most of what there is to tell of heat and use
        axes = axes.with_stress_of(found.axes)
    return _weigh(evidence, renewed, prior, sizes, axes)


def _pilot(found: Weighed) -> Pilot:
    """How lives depend on heat and use by rows without blanks."""
    by_point = found.weight.sum(axis=(1, 2, 3))

    def mean(values: Floats, axes: tuple[int, ...]) -> float:
        return float((found.weight.sum(axis=axes) * values).sum())

    return Pilot(
        shape=float(np.exp(mean(found.axes.log_shape, (0, 2, 3)))),
        log_scale=mean(found.axes.centre, (0, 1, 3)),
        strength=float((by_point * [p.strength for p in found.stress]).sum()),
        calendar=float((by_point * [p.calendar for p in found.stress]).sum()),
    )


def _weigh(evidence: Evidence, renewed: Mask, prior: Prior, sizes: Sizes, axes: Axes) -> Weighed:
    """Weigh the grid from some first axes on."""
    memories: tuple[float, ...] = MEMORIES if evidence.forgetful.any() else (np.inf,)
    power = min(1.0, _FULL / max(evidence.failures, 1.0))
    while True:
        found = _weigh_once(evidence, renewed, prior, axes, sizes.rough, memories, power)
        axes = zoom(axes, found.weight, found.stress, _cell_weights(found), sizes.rough)
        memories = _likely(memories, found.weight)
        if power >= 1.0:
            break
        power = min(1.0, power * _STEP)
    return _weigh_once(evidence, renewed, prior, axes, sizes.fine, memories, 1.0)


def _likely(memories: tuple[float, ...], weight: Floats) -> tuple[float, ...]:
    """The memories that the records leave possible; points run over memories within stress."""
    of_each = weight.sum(axis=(1, 2, 3)).reshape(-1, len(memories)).sum(axis=0)
    return tuple(m for m, mass in zip(memories, of_each, strict=True) if mass > _NEGLIGIBLE)


def _weigh_once(
    evidence: Evidence,
    renewed: Mask,
    prior: Prior,
    axes: Axes,
    sizes: tuple[int, int, int, int],
    memories: tuple[float, ...],
    power: float,
) -> Weighed:
    axes = axes.laid(sizes)
    kernel = _kernel(axes, np.where(renewed, prior.renewed_sd, 0.0))
    log_prior = (
        prior.log_shape(axes.log_shape)[:, None, None]
        + prior.log_scale(axes.centre + np.log(evidence.origin_years))[None, :, None]
        + prior.log_spread(SPREADS)[None, None, :]
    )
    stress = stress_points(axes, prior)
    likelihoods, logs = [], []
    parts = _Parts.of(evidence)
    for point in stress:
        for terms in _likelihoods(parts, point, axes, memories):
            top = terms.max(axis=(1, 2), keepdims=True)
            held = np.einsum("cks,csmt->ckmt", np.exp(power * (terms - top)), kernel, optimize=True)
            log = np.log(held + _TINY).sum(axis=0) + power * top.sum()
            likelihoods.append(power * terms)
            logs.append(log + log_prior + point.log_prior)
    log_weight = np.array(logs)
    weight = np.exp(log_weight - log_weight.max())
    weight /= weight.sum()
    return Weighed(
        axes=axes,
        stress=tuple(point for point in stress for _ in memories),
        weight=weight,
        log_likelihood=np.array(likelihoods),
        kernel=kernel,
        site_law=evidence.site.law,
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Parts:
    """The rows by how they are worked out."""

    every: Evidence
    mixed: Mask
    plain_rows: Evidence
    mixed_rows: Evidence
    forgetful_rows: Evidence

    @classmethod
    def of(cls, evidence: Evidence) -> "_Parts":
        mixed = evidence.mixed
        return cls(
            every=evidence,
            mixed=mixed,
            plain_rows=evidence.take(~mixed),
            mixed_rows=evidence.take(mixed),
            forgetful_rows=evidence.take(evidence.forgetful),
        )


def _likelihoods(
    parts: _Parts,
    point: StressPoint,
    axes: Axes,
    memories: tuple[float, ...],
) -> Floats:
    """(memories, cells, shapes, scales) of one strength of heat and use."""
    shape, log_scale = np.exp(axes.log_shape), axes.log_scale
    evidence, mixed = parts.every, parts.mixed
    factors = evidence.site.log_factors(point.strength, point.calendar)
    out = plain_terms(parts.plain_rows, factors[~mixed, 0], shape, log_scale)
    if mixed.any():
        out = out + mixed_terms(parts.mixed_rows, factors[mixed], shape, log_scale)
    rows = parts.forgetful_rows
    if not rows.cell.size:
        return out[None]
    lasting = np.array(memories) / evidence.origin_years
    return out + forgetting_terms(rows, factors[evidence.forgetful], shape, log_scale, lasting)


def _kernel(axes: Axes, renewed_sd: Floats) -> Floats:
    """(cells, scales, centres, spreads): mass of each cell's log scale node."""
    step = axes.log_scale[:, 1] - axes.log_scale[:, 0]
    variance = SPREADS**2 + renewed_sd[:, None] ** 2 + (_HAT * step[:, None]) ** 2
    away = (axes.log_scale[:, :, None] - axes.centre) ** 2
    density = np.exp(-0.5 * away[..., None] / variance[:, None, None, :])
    norm = step[:, None] / np.sqrt(2.0 * np.pi * variance)
    return np.asarray(density * norm[:, None, None, :])


def _cell_weights(found: Weighed) -> Floats:
    """(cells, scales): weight of each node of each cell's log scale."""
    out = np.zeros(found.axes.log_scale.shape)
    for weight, terms in zip(found.weight, found.log_likelihood, strict=True):
        if weight.sum() < _NEGLIGIBLE:
            continue
        likely = np.exp(terms - terms.max(axis=(1, 2), keepdims=True))
        held = np.einsum("cks,csmt->ckmt", likely, found.kernel, optimize=True) + _TINY
        back = np.einsum("csmt,ckmt->cks", found.kernel, weight / held, optimize=True)
        out += (likely * back).sum(axis=1)
    return np.asarray(out / out.sum(axis=1, keepdims=True))
