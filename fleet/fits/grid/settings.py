"""Where the grid lies: its axes, how fine they are, and how they close in on the weight."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from fleet.fits.grid.evidence import Evidence
from fleet.fits.prior import Prior

Floats = npt.NDArray[np.float64]
Range = tuple[float, float]

_SHAPES = (np.log(0.35), np.log(18.0))
_SCALES = 3.6  # on either side of the prior's median, on the log scale
_STRENGTHS = (0.05, 2.0)
_CALENDARS = (0.02, 0.98)
_OUTSIDE = 1e-4
_MARGIN = 1.5  # steps
_NEGLIGIBLE = 2e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Nodes of shape, centre and cell scale, of heat and use each."""

    rough: tuple[int, int, int, int] = (9, 12, 18, 3)
    fine: tuple[int, int, int, int] = (13, 20, 26, 4)


@dataclass(frozen=True, slots=True, kw_only=True)
class StressPoint:
    """One strength of heat and one calendar share, with their log prior mass."""

    strength: float
    calendar: float
    log_prior: float
    idle: bool = False


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Axes:
    """Ranges of the axes, and their nodes once laid. Logs of scales in units of the origin.

    `strengths` and `calendars` are None where no temperature or no hours are known. `idle`: heat
    and use without effect is still worth a look.
    """

    shapes: Range
    centres: Range
    scales: Floats  # (cells, 2)
    strengths: Range | None
    calendars: Range | None
    idle: bool
    active: bool = True
    log_shape: Floats = field(default_factory=lambda: np.empty(0))
    centre: Floats = field(default_factory=lambda: np.empty(0))
    log_scale: Floats = field(default_factory=lambda: np.empty((0, 0)))
    strength: Floats = field(default_factory=lambda: np.empty(0))
    calendar: Floats = field(default_factory=lambda: np.empty(0))

    def with_stress_of(self, other: "Axes") -> "Axes":
        """With another's ranges of heat and use, somewhat widened."""
        return replace(
            self,
            strengths=_wider(other.strengths, _STRENGTHS),
            calendars=_wider(other.calendars, _CALENDARS),
            idle=other.idle,
            active=other.active,
        )

    def laid(self, sizes: tuple[int, int, int, int]) -> "Axes":
        """With nodes evenly over the ranges."""
        low, high = self.scales[:, :1], self.scales[:, 1:]
        stress = sizes[3] if self.strengths and self.calendars else 2 * sizes[3]
        return replace(
            self,
            log_shape=np.linspace(*self.shapes, sizes[0]),
            centre=np.linspace(*self.centres, sizes[1]),
            log_scale=low + (high - low) * np.linspace(0.0, 1.0, sizes[2]),
            strength=_inside(self.strengths, stress),
            calendar=_inside(self.calendars, stress),
        )


def _wider(span: Range | None, bounds: Range) -> Range | None:
    if span is None:
        return None
    more = (span[1] - span[0]) / 4.0
    return max(bounds[0], span[0] - more), min(bounds[1], span[1] + more)


def _inside(span: Range | None, nodes: int) -> Floats:
    """Middles of equal parts of a range."""
    if span is None:
        return np.empty(0)
    return np.asarray(span[0] + (span[1] - span[0]) * (np.arange(nodes) + 0.5) / nodes)


def first_axes(evidence: Evidence, prior: Prior) -> Axes:
    """Ranges so wide that nothing likely lies outside."""
    middle = float(np.log(prior.scale_years[0] / evidence.origin_years))
    site = evidence.site
    heat, use = site.tells_heat, site.tells_use
    return Axes(
        shapes=(float(_SHAPES[0]), float(_SHAPES[1])),
        centres=(middle - 3.0, middle + 3.0),
        scales=np.tile([middle - _SCALES, middle + _SCALES], (evidence.cells, 1)),
        strengths=_STRENGTHS if heat else None,
        calendars=_CALENDARS if use else None,
        idle=heat or use,
    )


def stress_points(axes: Axes, prior: Prior) -> list[StressPoint]:
    """Strengths of heat and use to look at, each with its log prior mass."""
    if axes.strengths is None and axes.calendars is None:
        return [StressPoint(strength=0.0, calendar=1.0, log_prior=0.0)]
    points = []
    if axes.idle and prior.idle_share > 0.0:
        idle = float(np.log(prior.idle_share))
        points.append(StressPoint(strength=0.0, calendar=1.0, log_prior=idle, idle=True))
    if not axes.active or prior.idle_share >= 1.0:
        return points
    heats = _masses(axes.strength, axes.strengths, prior.heat) or [(0.0, 1.0)]
    uses = _masses(axes.calendar, axes.calendars, None) or [(1.0, 1.0)]
    rest = np.log(1.0 - prior.idle_share)
    points.extend(
        StressPoint(
            strength=strength,
            calendar=calendar,
            log_prior=float(rest + np.log(heat) + np.log(use)),
        )
        for strength, heat in heats
        for calendar, use in uses
    )
    return points


def _masses(
    nodes: Floats, span: Range | None, law: tuple[float, float] | None
) -> list[tuple[float, float]]:
    """Nodes with the prior mass of the part each stands for; evenly from 0 to 1 without a law."""
    if span is None:
        return []
    width = (span[1] - span[0]) / len(nodes)
    if law is None:
        return [(float(node), width) for node in nodes]
    mean, sd = law
    density = np.exp(-0.5 * ((nodes - mean) / sd) ** 2) / (sd * np.sqrt(2.0 * np.pi))
    return [(float(node), float(mass)) for node, mass in zip(nodes, density * width, strict=True)]


def zoom(
    axes: Axes,
    weight: Floats,
    stress: Sequence[StressPoint],
    cells: Floats,
    sizes: tuple[int, int, int, int],
) -> Axes:
    """The axes closed in on where the weight lies; `cells` (cells, scales) for each cell."""
    laid = axes.laid(sizes)
    by_point = weight.sum(axis=(1, 2, 3))
    idle = np.array([point.idle for point in stress])
    active = ~idle
    out = replace(
        axes,
        shapes=_closer(laid.log_shape, weight.sum(axis=(0, 2, 3)), axes.shapes),
        centres=_closer(laid.centre, weight.sum(axis=(0, 1, 3)), axes.centres),
        scales=np.array(
            [
                _closer(nodes, mass, (nodes[0] - 1.0, nodes[-1] + 1.0))
                for nodes, mass in zip(laid.log_scale, cells, strict=True)
            ]
        ),
        idle=bool(by_point[idle].sum() > _NEGLIGIBLE),
        active=bool(by_point[active].sum() > _NEGLIGIBLE),
    )
    if not out.active:
        return out
    return replace(
        out,
        strengths=_part(axes.strengths, laid.strength, "strength", stress, by_point, _STRENGTHS),
        calendars=_part(axes.calendars, laid.calendar, "calendar", stress, by_point, _CALENDARS),
    )


def _part(
    span: Range | None,
    nodes: Floats,
    name: str,
    stress: Sequence[StressPoint],
    by_point: Floats,
    bounds: Range,
) -> Range | None:
    if span is None:
        return None
    mine = np.array([np.nan if p.idle else getattr(p, name) for p in stress])
    mass = np.array([by_point[mine == node].sum() for node in nodes])
    mass /= mass.sum()
    step = nodes[1] - nodes[0]
    mean = float((mass * nodes).sum())
    sd = float(np.sqrt((mass * (nodes - mean) ** 2).sum() + (0.3 * step) ** 2))
    return max(bounds[0], mean - 2.5 * sd), min(bounds[1], mean + 2.5 * sd)


def _closer(nodes: Floats, mass: Floats, bounds: Range) -> Range:
    """The range that holds all but a sliver of the mass, with a margin, within bounds."""
    reached = np.cumsum(mass) / mass.sum()
    step = nodes[1] - nodes[0]
    first = int(np.searchsorted(reached, _OUTSIDE))
    last = min(int(np.searchsorted(reached, 1.0 - _OUTSIDE)), len(nodes) - 1)
    return (
        max(bounds[0], float(nodes[first] - _MARGIN * step)),
        min(bounds[1], float(nodes[last] + _MARGIN * step)),
    )
