"""Do the failures of one group lie as spread over age as the others'? METHODS: same-ageing."""

import numpy as np
import polars as pl

from fleet.fits.compare import p_value
from fleet.fits.groups.suprema import common_shape, suprema
from fleet.fits.rows import cut_rows
from fleet.fits.solver.profile import profile_at
from fleet.fits.solver.terms import Terms


def same_ageing(lives: pl.DataFrame, own: pl.Expr) -> tuple[float | None, float | None]:
    """Whether the lives for which `own` holds share a shape with the others, scales left free.

    Returns the p-value of the likelihood ratio on 1 degree of freedom, rough with few failures,
    and how many times as large their shape is as the others'; None where either side has none.
    """
    rows = cut_rows(lives.with_columns(_own=own).sort("_own"), ["_own"])
    if rows.groups != 2:
        return None, None
    tops, shared = suprema(rows), common_shape(rows)
    if shared is None or not np.isfinite(tops).all():
        return None, None
    grid = np.linspace(np.log(0.05), np.log(60.0), 400)
    profile = profile_at(Terms(rows), np.repeat(grid[:, None], 2, axis=1))
    others, mine = np.exp(grid[profile.argmax(axis=0)])
    statistic = max(2.0 * (float(tops.sum()) - shared[1]), 0.0)
    return p_value(statistic, 1), float(mine / others)
