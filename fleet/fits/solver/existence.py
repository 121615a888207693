"""Whether the Weibull likelihood has a maximum: its limits at the edges, computed beforehand.

Four edges: the scale runs to infinity or to 0 at a fixed shape, the shape runs to 0, the shape
runs to infinity. METHODS: existence.
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Floats, Mask, Rows, group_sum
from fleet.fits.solver.slices import peak
from fleet.fits.solver.terms import Terms


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Edges:
    """What the likelihood does at its edges, per group.

    `at_zero`, `at_infinity`: largest log-likelihood as shape runs to 0 and to infinity, minus
    infinity where it falls without end, plus infinity where it rises without end.
    `point_low`, `point_high`: the ages at which a life that always ends at one age could end.
    `pareto`: the limit at shape 0 is a power law past the entry ages.
    """

    no_failure: Mask
    all_before_look: Mask
    at_zero: Floats
    at_infinity: Floats
    point_low: Floats
    point_high: Floats
    pareto: Mask


def find_edges(rows: Rows, terms: Terms) -> Edges:
    """The limits of the log-likelihood of each group along every edge."""
    group = np.repeat(np.arange(rows.groups), np.diff(rows.starts))

    def total(values: Floats | Mask) -> Floats:
        return group_sum(group, values, rows.groups)

    exact, censored = rows.high == rows.low, np.isnan(rows.high)
    closed = rows.high > rows.low
    known = ~np.isnan(rows.known_by)
    moved = rows.low > rows.entry
    # an interval that fills its window says nothing, whatever the life
    vacuous = closed & known & ~moved & (rows.high == rows.known_by)
    failed = (exact | closed) & ~vacuous

    # ages at which every life could end at once
    low = np.full(rows.groups, 0.0)
    np.maximum.at(low, group, np.where(moved, rows.low, 0.0))
    # seen failing at the very end of its window: any later common age does as well
    bound = failed & ~(known & (rows.high == rows.known_by))
    high = np.full(rows.groups, np.inf)
    np.minimum.at(high, group, np.where(bound, rows.high, np.inf))
    at_low = closed | censored
    n_low = total(np.where(at_low & moved & (rows.low == low[group]), rows.count, 0.0))
    n_high = total(np.where(closed & bound & (rows.high == high[group]), rows.count, 0.0))
    at_infinity = np.where(
        low < high, 0.0, np.where(low == high, _binomial(n_high, n_low), -np.inf)
    )
    at_infinity = np.where((terms.exact > 0.0) & (low <= high), np.inf, at_infinity)

    # shape to 0: part of the lives ends at once, the rest never, or past its entry by a power law
    new = rows.entry == 0.0
    fails_later = total(new & failed & moved) > 0
    n_new = total(np.where(new & censored & moved, rows.count, 0.0))
    n_first = total(np.where(new & failed & ~moved & ~known, rows.count, 0.0))
    late_open = total(~new & failed & ~known) > 0
    cut = terms.at_zero()
    at = peak(cut)
    with np.errstate(all="ignore"):
        power_law = np.where(np.isneginf(at), cut.at_no_hazard, cut.value(at)[0])[0]
    split = cut.k[0][0] + _binomial(n_first, n_new)
    pareto = ~fails_later & (n_new == 0.0)
    at_zero = np.where(pareto, power_law, np.where(fails_later | late_open, -np.inf, split))
    return Edges(
        no_failure=total(failed) == 0,
        all_before_look=(total(failed) > 0) & (total(moved) == 0),
        at_zero=at_zero,
        at_infinity=at_infinity,
        point_low=low,
        point_high=high,
        pareto=pareto,
    )


def _binomial(a: Floats, b: Floats) -> Floats:
    """Largest a log p + b log(1 - p)."""
    with np.errstate(all="ignore"):
        left = np.where(a > 0.0, a * np.log(a / (a + b)), 0.0)
        right = np.where(b > 0.0, b * np.log(b / (a + b)), 0.0)
    return left + right
