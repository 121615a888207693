"""The law of one unit, with what is in doubt about the unit settled under each draw.

What follows after the unit's own parts goes by the common law, which has learned from it already:
so draws keep their weights, and having lived weighs only the unit's own heat, use and batch.
METHODS: keep-or-replace
"""

from dataclasses import replace

import numpy as np

from fleet.decisions.drawn_lives import DrawnLives, even_steps
from fleet.decisions.forecast import UnitLaw, Units, in_doubt, unit_law
from fleet.decisions.weibull_life import Floats

_TRIED = 64  # ways in which a unit's own doubts meet each draw
_BATCH, _TAKEN = 50, 51  # seeds of the order in which even steps meet; nothing random in it


def own_law(lives: DrawnLives, unit: Units) -> UnitLaw:
    """The law of one unit (Units of one row), its weights those of its cell.

    Where its heat, use or batch is in doubt, each draw meets 64 ways in which they might be, and
    takes one with the chance that the unit lives to be seen under it.
    """
    cell = unit.cell[:1]
    weight = lives.weight[cell] / lives.weight[cell].sum(axis=1, keepdims=True)
    if not in_doubt(lives, unit)[0]:
        return replace(unit_law(lives, unit), weight=weight)
    law = unit_law(lives, unit.take(np.zeros(_TRIED, dtype=np.int64)), place=0)
    if unit.own_unknown[0]:
        law = replace(law, log_scale=law.log_scale + _other_batches(lives, unit))
    logs = -law.added(np.zeros_like(law.seen), law.seen)
    likely = np.cumsum(np.exp(logs - logs.max(axis=0)), axis=0)
    at = even_steps(1, lives.draws, _TAKEN, None) * likely[-1]
    taken = np.minimum((likely < at).sum(axis=0), _TRIED - 1)[None]

    def take(values: Floats) -> Floats:
        whole = np.broadcast_to(values, (_TRIED, lives.draws))
        return np.asarray(np.take_along_axis(whole, taken, axis=0))

    def left(values: Floats | None) -> Floats | None:
        return None if values is None else take(values)

    return UnitLaw(
        weight=weight,
        shape=take(law.shape),
        log_scale=take(law.log_scale),
        age=take(law.age),
        seen=take(law.seen),
        old_shape=left(law.old_shape),
        old_log_scale=left(law.old_log_scale),
        older_by=left(law.older_by),
        old_share=left(law.old_share),
    )


def _other_batches(lives: DrawnLives, unit: Units) -> Floats:
    """How much longer or shorter each batch tried lives than the one drawn, on the log scale."""
    from scipy.special import ndtri

    cell = unit.cell[0]
    stands = ndtri(even_steps(_TRIED, lives.draws, _BATCH, 0))
    drawn = lives.log_scale[cell] - lives.log_centre[cell]
    return np.asarray(lives.batch_sd[cell] * stands - drawn)
