"""Profile-likelihood limits of shares, shapes and ages of each column. METHODS: masked-causes."""

import numpy as np

from fleet.fits.masked.climb import FLATTEST, STEEPEST, Tie, Top, climb, limit
from fleet.fits.masked.laws import LifeLaw, ShareLaw
from fleet.fits.rows import Floats

_EDGE = 16.0  # log odds at which a share counts as none or all
_FAR = 60.0  # in log age, from the largest age watched

Pair = tuple[float | None, float | None]


class Profiles:
    """How far the top of a law falls as one quantity is moved and the rest follow."""

    def __init__(
        self, law: LifeLaw | ShareLaw, top: Top, drop: float, *, held: bool = False
    ) -> None:
        self.law, self.top, self.drop = law, top, drop
        # a shape that was given is not sought again
        self.fixed = np.arange(law.shapes) if held else None

    def share(self, column: int) -> Pair:
        """Limits of a column's share of all failures; 0 or 1 where it runs down or up to that."""
        law = self.law
        if law.columns == 1:
            return 1.0, 1.0
        place, others = law.shapes + column, np.arange(law.shapes, law.shapes + law.columns)
        others = others[others != place]
        level = self.top.z[law.shapes :]
        best = level[column] / level.sum()
        warm = self.top.z.copy()

        def fall(logit: float) -> float:
            odds = np.exp(logit)
            slope = np.zeros(len(warm))
            slope[others] = odds
            tie = Tie(place=place, of=lambda z: (float(odds * z[others].sum()), slope))
            total = warm[law.shapes :].sum()
            start = _moved(warm, others, total / (1.0 + odds))
            return self._fall(start, tie, warm)

        inner = np.clip(np.log(max(best, 1e-300) / max(1.0 - best, 1e-300)), -_EDGE, _EDGE)
        low = high = None
        if inner > -_EDGE:
            low = limit(fall, float(inner), -_EDGE, self.drop)
            warm[:] = self.top.z
        if inner < _EDGE:
            high = limit(fall, float(inner), _EDGE, self.drop)
        return (
            0.0 if low is None else float(1.0 / (1.0 + np.exp(-low))),
            1.0 if high is None else float(1.0 / (1.0 + np.exp(-high))),
        )

    def shape(self, column: int) -> Pair:
        """Limits of a shape; None where it is not bounded."""
        warm = self.top.z.copy()

        def fall(at: float) -> float:
            start = warm.copy()
            start[column] = at
            found = climb(self.law, start, fixed=np.array([column]))
            warm[:] = found.z
            return self.top.value - found.value

        sides = []
        for end in (np.log(FLATTEST), np.log(STEEPEST)):
            warm[:] = self.top.z
            sides.append(limit(fall, float(self.top.z[column]), float(end), self.drop))
        return _exp(sides[0]), _exp(sides[1])

    def age(self, column: int, hazard: float) -> Pair:
        """Limits of the age at which a column's cumulative hazard is `hazard`, in parts of unit."""
        law = self.law
        if not isinstance(law, LifeLaw):
            raise TypeError("ages need the law of whole lives")
        own = column if law.shapes > 1 else 0
        place = law.shapes + column
        warm = self.top.z.copy()

        def fall(log_age: float) -> float:
            def of(z: Floats) -> tuple[float, Floats]:
                shapes = np.exp(z[: law.shapes])
                exposure, bend = law.exposure(shapes)
                shape = shapes[own]
                value = hazard * exposure[column] * np.exp(-shape * log_age)
                slope = np.zeros(len(z))
                slope[own] = value * (bend[column] / exposure[column] - log_age) * shape
                return float(value), slope

            return self._fall(warm.copy(), Tie(place=place, of=of), warm)

        shapes, rates = law.rates(self.top.z)
        sides: list[float | None] = []
        for end in (-_FAR, _FAR):
            warm[:] = self.top.z
            if rates[column] > 0.0:
                start = float((np.log(hazard) - np.log(rates[column])) / shapes[column])
            elif end > 0.0:
                sides.append(None)
                continue
            else:
                start = _FAR
            sides.append(limit(fall, start, end, self.drop))
        return _exp(sides[0]), _exp(sides[1])

    def _fall(self, start: Floats, tie: Tie, warm: Floats) -> float:
        found = climb(self.law, start, fixed=self.fixed, tie=tie)
        warm[:] = found.z
        return self.top.value - found.value


def _moved(z: Floats, which: Floats, total: float) -> Floats:
    """The same z with some levels scaled to a sum; spread evenly where they were none."""
    out = z.copy()
    now = out[which].sum()
    out[which] = out[which] * (total / now) if now > 0.0 else total / len(which)
    return out


def _exp(value: float | None) -> float | None:
    return None if value is None else float(np.exp(value))
