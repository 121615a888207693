"""Units of which the same is known, counted together.

What is unsure of each unit (its build date within a range, blanks of its heat and use) is drawn
unit by unit, so a few units stand for many only where they are several.
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.forecast import Units
from fleet.decisions.weibull_life import Floats, Whole

# Units of a group of like ones that stand for the rest. Each has chances of its own under a draw;
# fewer of them than there are units would pass for luck shared by many.
STAND_FOR_MANY = 16  # of which only the build date is unsure: their chances differ little
STAND_FOR_MANY_BLANK = 256  # of which heat or use is blank, or one in eight of very many


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Alike:
    """`units` that stand for all, how `many` units each of them is, and the `group` of each."""

    units: Units
    many: Floats
    group: Whole


def fold(units: Units, group: Whole, lives: DrawnLives) -> Alike:
    """Units that stand for all, sorted by group, then whole sets before partly renewed ones.

    Their order hangs on what is known of them, not on their names or on other groups.
    """
    fields = {name: getattr(units, name) for name in Units.__slots__}
    table = pl.DataFrame({"_group": group, "_partly": units.old_cell >= 0, **fields})
    key = table.columns
    same = (
        table.with_row_index("_first")
        .group_by(key, maintain_order=True)
        .agg(pl.col("_first").first(), pl.len().alias("_many"))
        .sort("_group", "_partly", "cell", *(name for name in fields if name != "cell"))
    )
    first, many = (same[c].to_numpy().astype(np.int64) for c in ("_first", "_many"))
    stands = np.minimum(many, _most(units, lives)[first])
    eighth = -(-many // 8)
    stands = np.where(stands == STAND_FOR_MANY_BLANK, np.maximum(stands, eighth), stands)
    place = np.repeat(np.arange(first.size), stands)
    return Alike(
        units=units.take(first[place]),
        many=(many / stands)[place],
        group=group[first[place]],
    )


def _most(units: Units, lives: DrawnLives) -> Whole:
    """How many are enough to stand for many like each unit."""
    heat = np.isnan(units.ambient_c) & lives.tells_heat()[units.cell]
    use = np.isnan(units.hours) & lives.tells_use()[units.cell]
    dates = np.where(units.oldest > units.youngest, STAND_FOR_MANY, 1)
    return np.where(heat | use, STAND_FOR_MANY_BLANK, dates)
