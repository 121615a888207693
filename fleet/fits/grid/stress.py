"""How heat and use change the life: the factor on a life, and what stands in for blanks.

A life at ambient temperature T and h powered hours a year is
2^(-strength (T - T0) / 10) / (c + (1 - c) h / h0) times that at T0 and h0: the ten-kelvin rule
with a strength of its own, and ageing that goes on by the calendar for a share c and with power
for the rest. METHODS: stress
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

_LN2_PER_TEN = np.log(2.0) / 10.0
_MILD, _USUAL_HOURS = 25.0, 2000.0  # where nobody told any: nothing depends on them
NODES, NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(7)
NODE_WEIGHTS = NODE_WEIGHTS / NODE_WEIGHTS.sum()


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteLaw:
    """Laws of what may be blank, of sets when they were new: temperature and log hours, normal."""

    mean_c: float
    sd_c: float
    mean_use: float
    sd_use: float


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Site:
    """Heat and use of some sets; NaN where blank. Use is the log of powered hours a year."""

    ambient_c: Floats
    log_hours: Floats
    tells_heat: bool
    tells_use: bool
    usual_c: float
    usual_hours: float
    law: SiteLaw

    @classmethod
    def of(cls, ambient_c: Floats, hours: Floats) -> "Site":
        """Of the values told for the sets of one model; their law is as they are told."""
        with np.errstate(divide="ignore"):
            log_hours = np.log(np.where(hours > 0.0, hours, np.nan))
        warm, used = ambient_c[~np.isnan(ambient_c)], log_hours[~np.isnan(log_hours)]
        usual_c = float(np.median(warm)) if warm.size else _MILD
        usual = float(np.median(used)) if used.size else float(np.log(_USUAL_HOURS))
        return cls(
            ambient_c=ambient_c,
            log_hours=log_hours,
            tells_heat=warm.size > 1,
            tells_use=used.size > 1,
            usual_c=usual_c,
            usual_hours=float(np.exp(usual)),
            law=_as_told(warm, used, usual_c, usual),
        )

    def take(self, rows: Mask) -> "Site":
        """Some of the sets."""
        cut = {n: getattr(self, n)[rows] for n in ("ambient_c", "log_hours")}
        return Site(**cut, **{n: getattr(self, n) for n in self.__slots__ if n not in cut})

    @property
    def blank(self) -> Mask:
        """Sets of which something is blank that others tell."""
        no_heat = np.isnan(self.ambient_c) & self.tells_heat
        return np.asarray(no_heat | (np.isnan(self.log_hours) & self.tells_use))

    def log_factors(self, strength: float, calendar: float) -> Floats:
        """Log of the factor on each life, (sets, nodes); for blanks at the nodes of their law.

        Node weights are NODE_WEIGHTS. Where both are blank the sum of the two logs is taken to be
        normal. Whether a value was written down is taken to say nothing of it.
        """
        law = self.law
        heat, use = np.zeros((self.ambient_c.size, 1)), np.zeros((self.ambient_c.size, 1))
        at_heat, at_use = np.zeros(NODES.size), np.zeros(NODES.size)
        if self.tells_heat:
            heat = log_heat_factor(self.ambient_c, strength, self.usual_c)[:, None]
            at_heat = log_heat_factor(law.mean_c + law.sd_c * NODES, strength, self.usual_c)
        if self.tells_use:
            use = log_use_factor(self.log_hours, calendar, self.usual_hours)[:, None]
            at_use = log_use_factor(law.mean_use + law.sd_use * NODES, calendar, self.usual_hours)
        moments = [(NODE_WEIGHTS @ v, NODE_WEIGHTS @ v**2) for v in (at_heat, at_use)]
        mean = sum(first for first, _ in moments)
        variance = sum(max(second - first**2, 0.0) for first, second in moments)
        no_heat, no_use = np.isnan(heat), np.isnan(use)
        either = np.where(no_heat, at_heat, heat) + np.where(no_use, at_use, use)
        return np.asarray(np.where(no_heat & no_use, mean + np.sqrt(variance) * NODES, either))


def _as_told(warm: Floats, used: Floats, usual_c: float, usual: float) -> SiteLaw:
    return SiteLaw(
        mean_c=float(warm.mean()) if warm.size else usual_c,
        sd_c=float(warm.std()) if warm.size else 0.0,
        mean_use=float(used.mean()) if used.size else usual,
        sd_use=float(used.std()) if used.size else 0.0,
    )


def log_heat_factor(ambient_c: Floats, strength: float | Floats, usual_c: float) -> Floats:
    """Log of how many times as long a life is at a temperature as at the usual one."""
    return np.asarray(-strength * _LN2_PER_TEN * (ambient_c - usual_c))


def log_use_factor(log_hours: Floats, calendar: float | Floats, usual_hours: float) -> Floats:
    """Log of how many times as long a life is at powered hours a year as at the usual ones."""
    return np.asarray(-np.log(calendar + (1.0 - calendar) * np.exp(log_hours) / usual_hours))
