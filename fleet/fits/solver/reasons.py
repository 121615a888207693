"""Why there is no Weibull estimate, or why a limit is unbounded, in plain words."""

from collections.abc import Sequence

import numpy as np

from fleet.fits.rows import Floats
from fleet.fits.solver.limits import AgeLimits, ShapeLimits
from fleet.fits.solver.profile import Peak

NO_LIVES = "there are no lives"
NO_FAILURE = (
    "no failure: lower limits of the scale and of B10 are all that the lives can tell, if anything"
)
NOTHING_SAID = (
    "every failure may have come at any age of the window in which it could be known, so the lives "
    "tell nothing of how long they last"
)
ALL_BEFORE_LOOK = (
    "every failure came before the first look, so it may have come at any age up to then: the "
    "likelihood keeps rising as the scale runs to 0"
)
ONE_AGE = (
    "no life outlasts the single failure age: the likelihood keeps rising without end as the "
    "shape runs to infinity, so it bounds nothing"
)
POINT = (
    "all lives may have ended at one and the same age: the likelihood keeps rising as the shape "
    "runs to infinity"
)
FALLING = "failures only get rarer with age: the likelihood keeps rising as the shape runs to 0"
FAILED_ONLY = (
    "every failure is known only because it happened: the likelihood keeps rising as the scale "
    "runs to infinity, so these lives do not tell how long they last"
)


def why_none(top: Peak, failures: Floats) -> list[str | None]:
    """Why each group has no estimate; None where it has one."""
    edges = top.edges
    missing = np.select(
        [
            edges.no_failure & (failures > 0.0),
            edges.no_failure,
            edges.all_before_look,
            top.unlimited,
            edges.at_infinity >= top.value - 1e-9,
            np.isneginf(top.c),
        ],
        [NOTHING_SAID, NO_FAILURE, ALL_BEFORE_LOOK, ONE_AGE, POINT, FAILED_ONLY],
        FALLING,
    )
    return [None if there else str(word) for there, word in zip(top.exists, missing, strict=True)]


def reasons(
    top: Peak, limits: ShapeLimits, ages: AgeLimits, failures: Floats
) -> Sequence[str | None]:
    """Why there is no estimate, or which limits are open; one or None per group."""
    out = why_none(top, failures)
    open_sides = [
        ("shape down to 0", limits.low_open),
        ("shape upward", limits.high_open),
        ("scale down to 0", np.isneginf(ages.low[0])),
        ("scale upward", np.isposinf(ages.high[0])),
        ("B10 down to 0", np.isneginf(ages.low[1])),
        ("B10 upward", np.isposinf(ages.high[1])),
    ]
    some_open = np.logical_or.reduce([mask for _, mask in open_sides])
    for i in np.flatnonzero(top.exists & some_open):
        names = ", ".join(name for name, mask in open_sides if mask[i])
        out[i] = f"too little is known to bound: {names}"
    return out
