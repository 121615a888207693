"""What a Weibull fit can be asked to bound, as coordinates of its likelihood.

A point is (u, v): u = log shape and v the quantity. It fixes c, the log cumulative hazard at t0
(see `packed`), and the chain rule turns slopes in (b, c) into slopes in (u, v).
"""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from fleet.fits.rows import Floats, Ints
from fleet.fits.solver.packed import Derivatives


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Turned:
    """c at (u, v) and its first and second derivatives there."""

    c: Floats
    u: Floats
    v: Floats | float
    uu: Floats
    uv: Floats | float


class Path(Protocol):
    """A quantity v that together with the shape fixes the Weibull; c is linear in v."""

    def turned(self, b: Floats, v: Floats) -> Turned:
        """C and its derivatives at shapes b and values v, arrays (problems, G)."""

    def value(self, b: Floats, c: Floats) -> Floats:
        """The quantity at shape b and c."""

    def take(self, groups: Ints) -> "Path":
        """The same quantities of some groups."""

    def part(self, problems: slice) -> "Path":
        """Some of the problems."""


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class LogAge:
    """The log age, relative to t0, at which the cumulative hazard is exp(`log_h`)."""

    log_h: Floats | float

    def turned(self, b: Floats, v: Floats) -> Turned:
        """``c = log h - b v``."""
        slope = -b * v
        return Turned(c=self.log_h + slope, u=slope, v=-b, uu=slope, uv=-b)

    def value(self, b: Floats, c: Floats) -> Floats:
        """The age at shape b and c."""
        return np.asarray((self.log_h - c) / b)

    def take(self, groups: Ints) -> "LogAge":
        """The same hazards for every group."""
        return self

    def part(self, problems: slice) -> "LogAge":
        """Some of the hazards."""
        return LogAge(log_h=np.asarray(self.log_h)[problems])


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class LogHazard:
    """The log of the cumulative hazard between two ages, their logs relative to t0.

    `early` may be minus infinity (from new): then exp(-exp(v)) is the survival at `late`, else
    the chance to reach it for a life that has reached `early`.
    """

    early: Floats
    late: Floats

    def turned(self, b: Floats, v: Floats) -> Turned:
        """``c = v - log(exp(b late) - exp(b early))``."""
        level, slope, bend = self._grown(b)
        return Turned(c=v - level, u=-b * slope, v=1.0, uu=-b * slope - b * b * bend, uv=0.0)

    def value(self, b: Floats, c: Floats) -> Floats:
        """The log hazard at shape b and c."""
        return np.asarray(c + self._grown(b)[0])

    def take(self, groups: Ints) -> "LogHazard":
        """The ages of some groups."""
        return LogHazard(early=self.early[:, groups], late=self.late[:, groups])

    def part(self, problems: slice) -> "LogHazard":
        """Some of the spans."""
        return LogHazard(early=self.early[problems], late=self.late[problems])

    def _grown(self, b: Floats) -> tuple[Floats, Floats, Floats]:
        """log(exp(b late) - exp(b early)) with its slope and curvature in b."""
        new = np.isneginf(self.early)
        width = np.where(new, 1.0, self.late - self.early)
        with np.errstate(over="ignore"):
            share = np.where(new, 0.0, 1.0 / np.expm1(b * width))
        gone = np.where(new, 0.0, np.log(-np.expm1(-b * width)))
        return b * self.late + gone, self.late + share * width, -(width**2) * share * (1.0 + share)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Sloped:
    """Log-likelihood and its derivatives in u and v."""

    value: Floats
    u: Floats
    v: Floats
    uu: Floats
    uv: Floats
    vv: Floats


def chain(b: Floats, d: Derivatives, turned: Turned) -> Sloped:
    """Derivatives in (u, v) from those in (b, c)."""
    in_u = b * d.b + turned.u * d.c
    return Sloped(
        value=d.value,
        u=in_u,
        v=turned.v * d.c,
        uu=b * d.b
        + b * b * d.bb
        + 2.0 * b * turned.u * d.bc
        + turned.u**2 * d.cc
        + turned.uu * d.c,
        uv=turned.v * (b * d.bc + turned.u * d.cc) + turned.uv * d.c,
        vv=turned.v**2 * d.cc,
    )
