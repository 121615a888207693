"""Long-run cost of a replacement age on true lives, with new parts that live the same.

C(a) = [S(a) + r (1 - S(a))] / integral of S from 0 to a, in planned recaps a day; r is what a
failure costs in planned recaps (Barlow and Hunter 1960, Operations Research 8). Worked out on a
grid of ages dense near 0; between its points S and its integral are joined by straight lines.
"""

from dataclasses import dataclass

import numpy as np

from fleets.life import Floats, Law

_POINTS = 4001
_LAST_HAZARD = 30.0  # S = 1e-13: what lives longer is left away


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class CostCurve:
    """Cost against age for a set of scale 1: ages, share alive, mean life lived until then."""

    age: Floats
    alive: Floats
    lived: Floats
    failure: float

    @property
    def run_to_failure(self) -> float:
        """Cost of never replacing in advance."""
        return float(self.failure / self.lived[-1])

    @property
    def best(self) -> float:
        """The lowest cost there is."""
        return float(min(self.at(self.age[1:]).min(), self.run_to_failure))

    def at(self, age: Floats) -> Floats:
        """Cost at replacement ages in scales; infinite means never."""
        age = np.asarray(age, float)
        inside = np.clip(age, self.age[1], self.age[-1])
        alive, lived = (np.interp(inside, self.age, y) for y in (self.alive, self.lived))
        cost = (alive + self.failure * (1.0 - alive)) / lived
        return np.asarray(np.where(age >= self.age[-1], self.run_to_failure, cost))


def cost_curve(law: Law, *, failure: float, bad: float = 0.0) -> CostCurve:
    """The cost curve of a law of life; `bad` is the share of bad sets."""
    last = float(law.age_at(_LAST_HAZARD))
    age = last * np.linspace(0.0, 1.0, _POINTS) ** 2
    alive = np.exp(-law.hazard(age, bad))
    pieces = (alive[1:] + alive[:-1]) / 2.0 * np.diff(age)
    return CostCurve(
        age=age, alive=alive, lived=np.concatenate([[0.0], np.cumsum(pieces)]), failure=failure
    )
