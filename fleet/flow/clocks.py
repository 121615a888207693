"""Do lives follow calendar age, powered hours or a mix? The answer as a table and in words."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

from fleet.flow.answers import choose_parts
from fleet.flow.facts import USE, with_facts
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.influences import kept_apart
from fleet.flow.read_aloud import number
from fleet.flow.table import Answer, Settings, Table

if TYPE_CHECKING:
    from fleet.fits.clock import Clocks

FEW = 10  # failures below which the limits of a share are rough; our own rule


def clocks(
    table: Table,
    *,
    store: Path | None,
    as_of: date,
    hours: str = USE,
    by: Sequence[str] = (),
    level: float = 0.95,
    settings: Settings | None = None,
) -> Answer:
    """Calendar age, powered hours and a mix, compared on the same lives (fits.clock.CLOCKS).

    `hours`: the column with powered hours a year. Groups of `by`, and models, may differ in how
    long they last. Raises BadInput where hours are not there or clocks cannot be compared.
    """
    from fleet.fits.clock import which_clock

    table, notes = with_facts(table, [hours], store=store, as_of=as_of)
    apart = kept_apart(table, [hours], by)
    chosen, said = choose_parts(table, apart, settings)
    chosen, alone = set_apart(chosen, table, apart)
    found = which_clock(chosen, hours, by=apart, level=level)
    return Answer(
        frame=found.clocks,
        notes=(*clock_words(found), *notes, *said, *what_failures_alone_tell(alone, apart)),
    )


def clock_words(found: "Clocks") -> tuple[str, ...]:
    """What the comparison says, and on how much it rests."""
    age, hours, mix = found.clocks.iter_rows(named=True)
    low, high, share = mix["share_low"], mix["share_high"], mix["share_hours"]
    failures = "1 failure" if found.failures == 1 else f"{number(found.failures)} failures"
    part = f"hours count for {_percent(share)} of the wear in typical use"
    limits = f"{_percent(low)} to {_percent(high)}"
    if low <= 0.0 and high >= 1.0:
        said = f"The data cannot tell age from powered hours ({failures})"
    elif low <= 0.0:
        behind = _times(age["log_likelihood"] - hours["log_likelihood"])
        said = (
            f"Calendar age explains the failures better than powered hours ({behind}); "
            f"hours count for at most {_percent(high)} of the wear in typical use"
        )
    elif high >= 1.0:
        ahead = _times(hours["log_likelihood"] - age["log_likelihood"])
        said = (
            f"Powered hours explain the failures better than age ({ahead}); hours count for at "
            f"least {_percent(low)} of the wear in typical use"
        )
    else:
        better = max(age["log_likelihood"], hours["log_likelihood"])
        ahead = _times(mix["log_likelihood"] - better)
        said = (
            "A mix of age and powered hours explains the failures better than either alone "
            f"({ahead}): {part} ({limits})"
        )
    rest = [f"From {number(found.lives)} lives with {failures}; typical use is "
            f"{number(found.typical)} hours a year"]  # fmt: skip
    if found.failures < FEW:
        rest.append("So few failures make these chances and limits rough")
    if found.missing:
        rest.append(f"{number(found.missing)} lives were left out: their hours are not known, or 0")
    return (said, *rest)


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _times(log_ratio: float) -> str:
    if log_ratio > 13.8:  # log of a million
        return "more than a million times as likely"
    from math import exp

    return f"{number(exp(log_ratio))} times as likely"
