"""What the lives can and cannot tell, decided before anything is searched.

METHODS: masked-causes.
"""

import numpy as np
import polars as pl

from fleet.fits.masked.rows import MaskedRows
from fleet.fits.rows import Floats, Mask, cut_groups
from fleet.fits.solver.batch import maxima
from fleet.fits.solver.reasons import ONE_AGE
from fleet.fits.weibull import fit_weibull

NO_FAILURE = "no failure was seen: only a lower limit of its life"
NOT_WATCHED = "it was never watched"
NEVER_NAMED = "no failure was put down to it, alone or among others: only a lower limit of its life"
NONE_LEFT = "others explain every failure it is suspected of: only a lower limit of its life"
TOGETHER = (
    "always suspected together, so they cannot be told apart: the figures are for all of them"
)
NOT_TOLD = "who was suspected with whom does not settle its share: only limits"
AT_THE_END = "the likelihood keeps rising as a shape runs to the end of what was searched"
OWN_SPIKE = (
    "shapes of their own do not exist: the last failure of all could be {}'s, and nothing else "
    "must be; one shape for all positions is used"
)
OWN_END = "shapes of their own are not bounded; one shape for all positions is used"


def board_fit(rows: MaskedRows, level: float) -> pl.DataFrame:
    """The Weibull of the boards themselves: rows in which every column was watched."""
    return fit_weibull(_boards(rows), level=level)


def board_shape(rows: MaskedRows) -> tuple[float | None, str | None]:
    """The shape of the same fit, without any limits, or why there is none."""
    found = maxima(cut_groups(_boards(rows), ()))
    reason = None if found.exists[0] else str(found.reason[0])
    return (float(found.shape[0]) if found.exists[0] else None), reason


def _boards(rows: MaskedRows) -> pl.DataFrame:
    columns = {
        "entry": rows.entry,
        "low": rows.low,
        "high": rows.high,
        "known_by": rows.known_by,
        "count": rows.count,
    }
    return pl.DataFrame({k: pl.Series(v[rows.whole], nan_to_null=True) for k, v in columns.items()})


def _oldest(rows: MaskedRows) -> Floats:
    """The largest age at which each column was watched."""
    seen = np.fmax(rows.low, np.where(rows.high > rows.low, rows.high, 0.0))
    return np.asarray(np.where(rows.at_risk, seen[:, None], 0.0).max(axis=0))


def _at_their_oldest(rows: MaskedRows) -> Mask:
    """(rows, columns): an exact failure, its suspect at the largest age that column reached."""
    exact = rows.high == rows.low
    return np.asarray(exact[:, None] & (rows.weight > 0.0) & (rows.low[:, None] >= _oldest(rows)))


def shared_spike(rows: MaskedRows) -> str | None:
    """Why one shape for all has no end: every failure can be its suspect's at its oldest age."""
    failed = rows.failed
    exact = rows.high[failed] == rows.low[failed]
    if exact.all() and _at_their_oldest(rows)[failed].any(axis=1).all():
        return ONE_AGE
    return None


def own_spike(rows: MaskedRows) -> int | None:
    """A column whose own shape has no end, if there is one.

    Its hazard can be a spike at the largest age it reached, where it is suspected of a failure,
    and nothing before, if every other failure has another suspect.
    """
    spikes = _at_their_oldest(rows)
    failed = rows.failed
    for column in np.flatnonzero(spikes.any(axis=0)):
        others = np.delete(rows.weight, column, axis=1) > 0.0
        needed = failed & ~others.any(axis=1) & ~spikes[:, column]
        if not needed.any():
            return int(column)
    return None


def not_settled(rows: MaskedRows, level: Floats, slope: Floats) -> Mask:
    """Columns whose share can move while no sum of hazards that a row looks at changes.

    `level` and `slope` at a top of the law: columns that are none there and would lower it are
    no way out, nor are those that nothing names.
    """
    named = (rows.weight > 0.0).any(axis=0)
    free = np.flatnonzero(named & ((level > 1e-7 * level.sum()) | (np.abs(slope) < 1e-7)))
    looks = np.vstack([rows.weight[rows.failed], rows.at_risk.astype(np.float64)])
    looks = np.unique(looks[:, free], axis=0)
    out = np.zeros(len(level), dtype=bool)
    _, sizes, directions = np.linalg.svd(looks, full_matrices=True)
    rank = int((sizes > 1e-9 * max(sizes.max(initial=0.0), 1.0)).sum())
    loose = directions[rank:]
    if len(loose):
        out[free] = (np.abs(loose) > 1e-8).any(axis=0)
    return out
