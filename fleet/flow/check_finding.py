"""One thing in the data that hurts the answers, and what is looked at to find it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.flow.check_effects import Baseline, Effect
from fleet.flow.table import Table

NAMED = 5
NEGLIGIBLE = 0.005  # effects that are said to hardly change the answer; our own choice


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """`effect`: by what share settling it would move an answer or narrow its limits; None where
    that is not measured. `blocks`: without it there is no answer at all. `ask`: somebody can
    be asked for it. `opens`: the advice sends people inside machines. `units`: machines
    concerned, those to begin with first; `machines`: how many there are (None: as `count`).
    `to_do`: the advice where there is no command line, a sentence; `said`: likewise the finding,
    where it names a command.
    """

    subject: str
    finding: str
    count: int
    advice: str
    to_do: str
    effect: float | None = None
    blocks: bool = False
    ask: bool = True
    opens: bool = False
    units: tuple[str, ...] = ()
    machines: int | None = None
    said: str | None = None

    @property
    def negligible(self) -> bool:
        """Settling it is known to hardly change an answer."""
        return not self.blocks and self.effect is not None and self.effect < NEGLIGIBLE


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Look:
    """The records and fits as they stand; `gate` is flow.pooling's frame."""

    base: Baseline
    gate: pl.DataFrame
    records: dict[str, pl.DataFrame]
    store: Path
    as_of: date

    @property
    def table(self) -> Table:
        """The life table the fits are made of."""
        return self.base.table

    def some(self, names: Sequence[str], count: int | None = None) -> str:
        """The first few names, and how many more there are."""
        count = len(names) if count is None else count
        shown = ", ".join(names[:NAMED])
        return shown if count <= NAMED else f"{shown} and {count - NAMED} more"

    def rebuilt(self, **changed: pl.DataFrame) -> Table:
        """The life table with other records of some kinds."""
        from fleet.lives import build_lives

        built = build_lives({**self.records, **changed}, as_of=self.as_of)
        return replace(self.table, lives=built.lives, working=built.working)


def effect_of(found: Effect | None) -> float | None:
    """The size of an effect, None where there is none to measure."""
    return None if found is None else max(found.size, 0.0)
