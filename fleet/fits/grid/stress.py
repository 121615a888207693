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


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Site:
    """Heat and use of some sets; NaN where blank. `warm` and `hours` are sorted known values."""

    ambient_c: Floats
    hours: Floats
    warm: Floats
    used: Floats

    @classmethod
    def of(cls, ambient_c: Floats, hours: Floats) -> "Site":
        """Of the values told for the sets of one model."""
        return cls(
            ambient_c=ambient_c,
            hours=hours,
            warm=np.sort(ambient_c[~np.isnan(ambient_c)]),
            used=np.sort(hours[~np.isnan(hours)]),
        )

    @property
    def usual_c(self) -> float:
        """The temperature that scales are given for."""
        return float(np.median(self.warm)) if self.warm.size else _MILD

    @property
    def usual_hours(self) -> float:
        """The hours a year that scales are given for."""
        return float(np.median(self.used)) if self.used.size else _USUAL_HOURS

    @property
    def blank(self) -> Mask:
        """Sets of which something is blank that others tell."""
        no_heat = np.isnan(self.ambient_c) & bool(self.warm.size)
        return np.asarray(no_heat | (np.isnan(self.hours) & bool(self.used.size)))

    def log_factors(self, strength: float, calendar: float, nodes: int) -> Floats:
        """Log of the factor on each life, (sets, nodes): equally likely values for what is blank.

        The values are quantiles of those told of other sets: whether a value was written down is
        taken to say nothing of it.
        """
        heat = log_heat_factor(self.ambient_c, strength, self.usual_c)
        use = log_use_factor(self.hours, calendar, self.usual_hours)
        other_heat = log_heat_factor(self.warm, strength, self.usual_c)
        other_use = log_use_factor(self.used, calendar, self.usual_hours)
        no_heat, no_use = np.isnan(heat)[:, None], np.isnan(use)[:, None]
        by_heat, by_use = _middles(other_heat, nodes), _middles(other_use, nodes)
        both = _middles((by_heat[:, None] + by_use[None, :]).ravel(), nodes)
        told = np.nan_to_num(heat) + np.nan_to_num(use)
        stands_in = np.where(no_heat & no_use, both, no_heat * by_heat + no_use * by_use)
        return np.asarray(told[:, None] + stands_in)


def log_heat_factor(ambient_c: Floats, strength: float | Floats, usual_c: float) -> Floats:
    """Log of how many times as long a life is at a temperature as at the usual one."""
    return np.asarray(-strength * _LN2_PER_TEN * (ambient_c - usual_c))


def log_use_factor(hours: Floats, calendar: float | Floats, usual_hours: float) -> Floats:
    """Log of how many times as long a life is at powered hours a year as at the usual ones."""
    return np.asarray(-np.log(calendar + (1.0 - calendar) * hours / usual_hours))


def _middles(values: Floats, nodes: int) -> Floats:
    """The middles of `nodes` equal shares of some values; 0 where there are none."""
    if not values.size:
        return np.zeros(nodes)
    return np.asarray(np.quantile(values, (np.arange(nodes) + 0.5) / nodes))
