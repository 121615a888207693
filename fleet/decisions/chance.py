"""Chances of failing, for a unit alive at an age and for one not seen since."""

# METHODS: chance, unseen

import numpy as np
from numpy.typing import ArrayLike

from fleet.decisions.weibull_life import Floats, added_hazard

NO_SHARE = 0.5  # the share told in use, (1 + in use) / (2 + all), with no failure seen


def chance_within(shape: ArrayLike, scale: ArrayLike, age: ArrayLike, horizon: ArrayLike) -> Floats:
    """P(failure in (age, age + horizon] | alive at age) = 1 - exp(H(age) - H(age + horizon)).

    All in one unit of age; arrays broadcast.
    """
    age = np.asarray(age, float)
    return -np.expm1(-added_hazard(shape, scale, age, age + np.asarray(horizon, float)))


def chance_failed_unseen(
    shape: ArrayLike,
    scale: ArrayLike,
    seen_at: ArrayLike,
    age: ArrayLike,
    prompt_share: ArrayLike,
) -> Floats:
    """Chance that a silent unit has failed since it was last seen working at age `seen_at`.

    With q the chance of failing since, and s = `prompt_share` the share of failures that are
    noticed in use and would have been heard of: (1-s) q / ((1-s) q + 1-q). Arrays broadcast.
    """
    added = added_hazard(shape, scale, seen_at, age)
    silent = (1.0 - np.asarray(prompt_share, float)) * -np.expm1(-added)
    either = silent + np.exp(-added)
    # Where every failure is heard of (s = 1) a silent unit has not failed, however old.
    return np.divide(silent, either, out=np.zeros_like(silent), where=silent > 0)
