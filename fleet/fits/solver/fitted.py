"""What is known of many groups after their fits."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleet.fits.rows import Floats, Mask

Words = npt.NDArray[np.object_]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Fits:
    """What is known of each of G groups. Ages and shapes as they are; NaN: does not exist.

    `ages` (hazards, G); `limits` (2 + 2 hazards, G): both of the shape, then both of each age.
    `value` is the largest log-likelihood where it is reached, `supremum` what it comes up to
    otherwise too (infinite: without bound).
    """

    lives: Floats
    failures: Floats
    exists: Mask
    shape: Floats
    scale: Floats
    ages: Floats
    limits: Floats
    value: Floats
    supremum: Floats
    reason: Words

    @classmethod
    def empty(cls, groups: int, hazards: int) -> "Fits":
        """Room for the results, nothing known."""
        return cls(
            lives=np.zeros(groups),
            failures=np.zeros(groups),
            exists=np.zeros(groups, dtype=bool),
            shape=np.full(groups, np.nan),
            scale=np.full(groups, np.nan),
            ages=np.full((hazards, groups), np.nan),
            limits=np.full((2 + 2 * hazards, groups), np.nan),
            value=np.full(groups, np.nan),
            supremum=np.zeros(groups),
            reason=np.full(groups, None, dtype=object),
        )
