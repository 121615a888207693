"""The age at which new parts pay, for any survival curve.

The same costs as for Weibull lives (see replace_age), searched over the ages of the curve.
Nothing is said beyond the last of them: a cost still falling where the curve ends is no optimum.
"""

# METHODS: age-replacement, one-time-replacement

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.decisions.costs import Costs
from fleet.decisions.weibull_life import Floats
from fleet.errors import BadFrame


@dataclass(frozen=True, slots=True, kw_only=True)
class BestOnCurve:
    """The cheapest age on a curve.

    `age` is None where the cost still falls at the end of the curve: run to failure as far as
    the curve tells. `cost`: per unit of age for classic replacement, in all for a one-time one.
    """

    age: float | None
    cost: float


def age_replacement_curve(curve: pl.DataFrame, costs: Costs, *, steps: bool = False) -> BestOnCurve:
    """Classic age replacement: the grid age with the lowest cost per unit of age.

    `curve` has columns age (rising, not negative) and survival (never rising, within 0 and 1);
    survival 1 at age 0 is added where it is missing. With `steps` survival holds just after each
    age and until the next (a Kaplan-Meier curve), and parts replaced at the age of a step are
    replaced before it; otherwise survival is joined by straight lines.
    Raises BadFrame for a curve that is none.

    >>> wears = pl.DataFrame({"age": [1.0, 2.0, 3.0, 4.0], "survival": [1.0, 1.0, 0.5, 0.0]})
    >>> age_replacement_curve(wears, Costs(planned=1.0, failure=5.0))
    BestOnCurve(age=2.0, cost=0.5)
    """
    ages, alive, lived = _followed(curve, steps=steps)
    with np.errstate(divide="ignore"):
        cost = (costs.planned * alive + costs.failure * (1.0 - alive)) / lived
    return _lowest(ages, cost)


def one_time_curve(
    curve: pl.DataFrame,
    costs: Costs,
    *,
    rate: float,
    alive_at: float = 0.0,
    steps: bool = False,
) -> BestOnCurve:
    """Best age to replace the present parts once when every unit of age after costs `rate`.

    Asked for a unit that lives at age `alive_at`: the age itself (now) and every grid age after
    it are tried. `curve` and `steps` as for age_replacement_curve.
    Raises BadFrame when nobody is alive at that age on the curve, or it ends before.
    """
    ages, alive, lived = _followed(curve, steps=steps)
    if alive_at > ages[-1]:
        raise BadFrame(f"the curve ends at age {ages[-1]:g}, before the unit's age {alive_at:g}")
    share, before = _at(alive_at, ages, alive, lived, steps=steps)
    if share <= 0:
        raise BadFrame(f"no life on the curve reaches the unit's age {alive_at:g}")
    later = ages > alive_at
    ages = np.concatenate([[alive_at], ages[later]])
    alive = np.concatenate([[share], alive[later]]) / share
    lived = (np.concatenate([[before], lived[later]]) - before) / share
    return _lowest(ages, costs.planned * alive + costs.failure * (1.0 - alive) - rate * lived)


def _followed(curve: pl.DataFrame, *, steps: bool) -> tuple[Floats, Floats, Floats]:
    """Ages from 0, the share alive on reaching each, and the mean life lived until then."""
    for column in ("age", "survival"):
        if column not in curve.columns:
            raise BadFrame(f"the curve has no column {column}; give age and survival")
    ages = curve["age"].cast(pl.Float64).to_numpy()
    after = curve["survival"].cast(pl.Float64).to_numpy()
    if ages.size == 0 or ages[0] > 0:
        ages, after = np.concatenate([[0.0], ages]), np.concatenate([[1.0], after])
    if not (np.isfinite(ages).all() and ages[0] >= 0 and (np.diff(ages) > 0).all()):
        raise BadFrame("the ages of the curve do not rise from 0; sort them and drop repeats")
    if not ((after >= 0).all() and (after <= 1).all() and (np.diff(after) <= 0).all()):
        raise BadFrame("the survival of the curve leaves 0 to 1 or rises; it must only fall")
    width = np.diff(ages)
    if steps:
        alive = np.concatenate([[1.0], after[:-1]])
        pieces = after[:-1] * width
    else:
        alive = after
        pieces = (after[:-1] + after[1:]) / 2.0 * width
    return ages, alive, np.concatenate([[0.0], np.cumsum(pieces)])


def _at(
    age: float, ages: Floats, alive: Floats, lived: Floats, *, steps: bool
) -> tuple[float, float]:
    """Share alive at an age between the grid's, and mean life lived until then."""
    place = int(np.searchsorted(ages, age, side="left"))
    if ages[place] == age:
        return float(alive[place]), float(lived[place])
    since = age - float(ages[place - 1])
    if steps:
        share = float(alive[place])  # held since the step before
        return share, float(lived[place - 1]) + share * since
    part = since / float(ages[place] - ages[place - 1])
    share = float(alive[place - 1] + part * (alive[place] - alive[place - 1]))
    return share, float(lived[place - 1]) + (float(alive[place - 1]) + share) / 2.0 * since


def _lowest(ages: Floats, cost: Floats) -> BestOnCurve:
    best = int(np.argmin(cost))
    ends = best == len(ages) - 1 and len(ages) > 1
    return BestOnCurve(age=None if ends else float(ages[best]), cost=float(cost[best]))
