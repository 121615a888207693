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
Ints = npt.NDArray[np.int64]
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
    def of(cls, ambient_c: Floats, hours: Floats, count: Floats) -> "Site":
        """Of the values told for the sets of one model, each of them so many; their law is as
        they are told.
        """
        with np.errstate(divide="ignore"):
            log_hours = np.log(np.where(hours > 0.0, hours, np.nan))
        warm = _Told.of(ambient_c, count, otherwise=_MILD)
        used = _Told.of(log_hours, count, otherwise=float(np.log(_USUAL_HOURS)))
        return cls(
            ambient_c=ambient_c,
            log_hours=log_hours,
            tells_heat=warm.sets > 1.0,
            tells_use=used.sets > 1.0,
            usual_c=warm.middle,
            usual_hours=float(np.exp(used.middle)),
            law=SiteLaw(mean_c=warm.mean, sd_c=warm.sd, mean_use=used.mean, sd_use=used.sd),
        )

    def take(self, rows: Mask) -> "Site":
        """Some of the sets."""
        cut = {n: getattr(self, n)[rows] for n in ("ambient_c", "log_hours")}
        return Site(**cut, **{n: getattr(self, n) for n in self.__slots__ if n not in cut})

    @property
    def blank(self) -> Mask:
        """Sets of which something is blank that others tell."""
        return np.asarray(self.which_blank > 0)

    @property
    def which_blank(self) -> Ints:
        """What is blank of each set that others tell: 1 heat, 2 use, 3 both, 0 neither."""
        no_heat = np.isnan(self.ambient_c) & self.tells_heat
        no_use = np.isnan(self.log_hours) & self.tells_use
        return np.asarray(no_heat + 2 * no_use.astype(np.int64))

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
        moments = [(float(NODE_WEIGHTS @ v), float(NODE_WEIGHTS @ v**2)) for v in (at_heat, at_use)]
        mean = sum(first for first, _ in moments)
        variance = sum(max(second - first**2, 0.0) for first, second in moments)
        no_heat, no_use = np.isnan(heat), np.isnan(use)
        either = np.where(no_heat, at_heat, heat) + np.where(no_use, at_use, use)
        return np.asarray(np.where(no_heat & no_use, mean + np.sqrt(variance) * NODES, either))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """What was told of so many sets: median, mean and standard deviation."""

    sets: float
    middle: float
    mean: float
    sd: float

    @classmethod
    def of(cls, values: Floats, count: Floats, *, otherwise: float) -> "_Told":
        there = ~np.isnan(values)
        if not there.any():
            return cls(sets=0.0, middle=otherwise, mean=otherwise, sd=0.0)
        order = np.argsort(values[there])
        value, many = values[there][order], count[there][order]
        share = many / many.sum()
        below = np.cumsum(share)
        half = np.searchsorted(below, [0.5 - 1e-9, 0.5 + 1e-9])
        mean = float(share @ value)
        return cls(
            sets=float(many.sum()),
            middle=float(value[np.minimum(half, value.size - 1)].mean()),
            mean=mean,
            sd=float(np.sqrt(share @ (value - mean) ** 2)),
        )


def log_heat_factor(ambient_c: Floats, strength: float | Floats, usual_c: float) -> Floats:
    """Log of how many times as long a life is at a temperature as at the usual one."""
    return np.asarray(-strength * _LN2_PER_TEN * (ambient_c - usual_c))


def log_use_factor(log_hours: Floats, calendar: float | Floats, usual_hours: float) -> Floats:
    """Log of how many times as long a life is at powered hours a year as at the usual ones."""
    return np.asarray(-np.log(calendar + (1.0 - calendar) * np.exp(log_hours) / usual_hours))
