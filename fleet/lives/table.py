"""The result of building lives."""

from dataclasses import dataclass

import polars as pl


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class LifeTable:
    """Lives as known on one date, ages in days.

    `lives` keeps LIVES, `working` WORKING, `left_out` LEFT_OUT (all of `fleet.frames`).
    `shares`: model, capacitor, other, unknown (failures of each cause reported for the model) and
    share, the part of a failure of unknown cause that is counted as the capacitors'.
    `notes`: what a reader has to know, in sentences. `twice_told` keeps
    `fleet.lives.twice_told.TWICE_TOLD`: reports by two people of what may be one event.
    """

    lives: pl.DataFrame
    working: pl.DataFrame
    left_out: pl.DataFrame
    shares: pl.DataFrame
    notes: tuple[str, ...]
    twice_told: pl.DataFrame
