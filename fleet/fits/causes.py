"""Which position failed, where several were suspected. METHODS: masked-causes."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.errors import BadFrame, BadInput
from fleet.fits.masked.climb import FLATTEST, STEEPEST
from fleet.fits.masked.group import ALL_LIMITS, CAUSES, Group, Limit, Shape
from fleet.fits.masked.rows import read_masked
from fleet.fits.weibull import check_level

__all__ = ["ALL_LIMITS", "CAUSES", "Limit", "Shape", "fit_causes"]


def fit_causes(
    lives: pl.DataFrame,
    *,
    by: Sequence[str] = (),
    positions: pl.DataFrame | None = None,
    shape: Shape = "auto",
    pull: float = 0.0,
    level: float = 0.95,
    limits: Sequence[Limit] = ALL_LIMITS,
) -> pl.DataFrame:
    """Competing Weibulls, one a position, from failures that have several suspects.

    A board of which position j lasts a Weibull life fails at the first failure of any. A failure
    at age t whose suspects are C has the likelihood ``prod_l S_l(t) * sum over j in C of w_j
    h_j(t)`` (Miyakawa 1984, IEEE Trans. Reliability 33; Usher and Hodgson 1988, 37:550-555), an
    interval its integral, with late entry and known_by as everywhere. That rests on three things:
    the faulty position is among the suspects; the same suspects would have been named whichever
    of them was at fault (or in the proportion of the weights); and naming does not hang on how
    long the positions last.

    Parameters
    ----------
    lives
        frames.LIFE, `by`, and lists: `candidates` (the suspects of a failure; null: all that were
        watched), optionally `weights` (one for each candidate: how likely what is known of the
        failure would be if it were the one; null: alike) and `at_risk` (the positions watched;
        null: all). Ages in any one unit.
    positions
        `by` and `position`: all positions of each group, also those never suspected. None: those
        that the lists name.
    shape
        One for all positions (`shared`), one each (`own`), a number that is taken as known, or
        `auto`: their own where each suspected position has 10 failures or more, else shared.
    pull
        Failures, spread evenly over the positions, that are added to the shares as a prior: 0 is
        maximum likelihood, 1 keeps a single failure from deciding.
    level
        Of the profile-likelihood limits.
    limits
        Which of share, shape, scale and b10 get them; others are null.

    Returns
    -------
    `by` + CAUSES, a row for each position in the order of `positions`. Null: does not exist, or
    unbounded on that side.

    Raises
    ------
    BadFrame
        For a faulty row or list.
    BadInput
        For a level outside (0, 1), a shape that is none, or a pull below 0.
    """
    check_level(level)
    _check_settings(shape, pull)
    keys = list(by)
    for column in keys:
        if column not in lives.columns:
            raise BadFrame(f"the life table has no column {column} to group by")
    parts = lives.partition_by(keys, maintain_order=True) if keys else [lives]
    out = []
    for part in parts:
        own = positions
        if own is not None:
            for column in keys:
                own = own.filter(pl.col(column).eq_missing(pl.lit(part[column][0])))
        names = None if own is None else own["position"].to_list()
        found = Group(read_masked(part, names), shape, pull, level, tuple(limits)).table()
        keyed = [pl.lit(part[c][0], dtype=part.schema[c]).alias(c) for c in keys]
        out.append(found.select(*keyed, pl.all()))
    if out:
        return pl.concat(out)
    return pl.DataFrame(schema={**{c: lives.schema[c] for c in keys}, **CAUSES})


def _check_settings(shape: Shape, pull: float) -> None:
    if isinstance(shape, str):
        if shape not in ("auto", "shared", "own"):
            raise BadInput(f"shape can be auto, shared, own or a number; not {shape}")
    elif not FLATTEST <= shape <= STEEPEST:
        raise BadInput(f"a shape is between {FLATTEST:g} and {STEEPEST:g}; {shape:g} is not")
    if not 0.0 <= pull < np.inf:
        raise BadInput(f"the pull is a number of failures, 0 or more; {pull:g} is not")
