"""How many spares of a part, by the chance of having enough of it.

A piece is lost as a dud or by a slip at the bench; a machine that fails in the window though no
job was planned for it asks for pieces more.

METHODS: spares
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fleet.errors import BadInput

Masses = NDArray[np.float64]

_NEGLIGIBLE = 1e-15  # masses of a count below this, at its upper end, are left off
_BEYOND = 1e-10  # a chance short of the level by less is rounding


@dataclass(frozen=True, slots=True)
class Spares:
    """Pieces beyond the places to fill, and the chance that places and spares are enough."""

    spares: int
    chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """Chances by piece: that it is a dud, and that it is spoilt at the bench.

    Both are assumptions to be replaced by one's own count; `level` is the chance wanted of having
    enough of a part, `least` how many spares of each part there are in any case (one spare of
    each: common practice, no source).
    """

    dud: float = 0.01
    slip: float = 0.02
    level: float = 0.95
    least: int = 1

    def __post_init__(self) -> None:
        """Raise BadInput for chances that cannot be."""
        for name, chance in (("a dud", self.dud), ("a slip", self.slip)):
            if not 0.0 <= chance < 1.0:
                raise BadInput(f"the chance of {name} is {chance:g}; give one from 0 to below 1")
        if not 0.0 < self.level < 1.0:
            raise BadInput(
                f"the chance of having enough is {self.level:g}; give one between 0 and 1"
            )
        if self.least < 0:
            raise BadInput(f"{self.least} spares of each cannot be; give 0 or more")

    @property
    def good(self) -> float:
        """Chance that a piece ends up working in its place."""
        return (1.0 - self.dud) * (1.0 - self.slip)


def failing_machines(chances: Sequence[float] | Masses) -> Masses:
    """Masses of the number of machines that fail, each with its own chance, independently.

    The Poisson-binomial law, exact: the product of the machines' generating functions, multiplied
    in pairs. Raises BadInput for chances outside 0 to 1.
    """
    p = np.asarray(chances, dtype=np.float64)
    if p.size and not bool(np.all((p >= 0.0) & (p <= 1.0))):
        raise BadInput("a chance of failing lies outside 0 to 1; leave unknown ones out")
    laws = [np.array([1.0 - one, one]) for one in p] or [np.ones(1)]
    while len(laws) > 1:
        paired = [np.convolve(a, b) for a, b in zip(laws[::2], laws[1::2], strict=False)]
        laws = [_trimmed(law) for law in paired] + ([laws[-1]] if len(laws) % 2 else [])
    return laws[0]


def places_more(failing: Mapping[str, Masses], places_of_each: Mapping[str, int]) -> Masses:
    """Masses of the places that machines failing unplanned ask for.

    `failing`: by model, masses of the number that fail; `places_of_each`: places for the part on
    one machine of the model. Models fail independently.
    """
    law = np.ones(1)
    for model, count in places_of_each.items():
        machines = failing.get(model)
        if machines is None or count == 0:
            continue
        spaced = np.zeros((machines.size - 1) * count + 1)
        spaced[::count] = machines
        law = _trimmed(np.convolve(law, spaced))
    return law


def chance_enough(pieces: int, places: int, *, good: float, more: Masses | None = None) -> float:
    """Chance that `pieces`, each good with chance `good`, fill `places` and those that come on top.

    P(G >= places + M), G binomial(pieces, good), M with masses `more` (none: no more places).
    """
    from scipy.special import betainc

    law = np.ones(1) if more is None else more
    needed = places + np.arange(min(law.size, max(pieces - places + 1, 0)))
    # P(binomial >= m) is the regularised incomplete beta function of (m, pieces - m + 1).
    tail = np.ones(needed.size)
    some = needed > 0
    tail[some] = betainc(needed[some], pieces - needed[some] + 1, good)
    return float(np.clip(np.dot(law[: needed.size], tail), 0.0, 1.0))


def spares_for(places: int, losses: Losses, *, more: Masses | None = None) -> Spares:
    """The fewest spares with which the chance of having enough reaches the level.

    Never fewer than `losses.least`. Raises BadInput for places below zero.
    """
    if places < 0:
        raise BadInput(f"{places} places cannot be filled; give 0 or more")

    def reached(spares: int) -> bool:
        chance = chance_enough(places + spares, places, good=losses.good, more=more)
        return chance >= losses.level - _BEYOND

    low, high = losses.least, max(losses.least, 1)
    while not reached(high):
        low, high = high + 1, 2 * high
    while low < high:
        half = (low + high) // 2
        low, high = (low, half) if reached(half) else (half + 1, high)
    return Spares(low, chance_enough(places + low, places, good=losses.good, more=more))


def _trimmed(law: Masses) -> Masses:
    """The law without the masses at its upper end that are nothing."""
    kept = np.flatnonzero(law > _NEGLIGIBLE)
    return law[: kept[-1] + 1] if kept.size else law
