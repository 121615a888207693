"""Sentences that must go with a curve."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.fits.curves.support import enough_at_risk
from fleet.fits.runs import first_of_runs

ADVISED = ("collapsed", "most", "gap_from", "gap_to")  # what advice reads besides the curve
_SAID = 5


def age_words(age: float, unit: str | None) -> str:
    """An age as written in a sentence, with its unit where that is known."""
    number = f"{age:,.0f}" if age >= 1000 else f"{age:.4g}"
    if not unit:
        return number
    return f"{number} {unit.removesuffix('s') if number == '1' else unit}"


def advice(points: pl.DataFrame, keys: pl.DataFrame, unit: str | None) -> list[str]:
    """Where a curve fell to 0 with others still to come, began with few, or nobody was watched.

    `points`: _group, frames.CURVE and ADVISED, by group and age.
    """
    group, age = points["_group"].to_numpy(), points["age"].to_numpy()
    starts = first_of_runs(group)
    if not len(starts):
        return []
    at_risk, most = points["at_risk"].to_numpy(), points["most"].to_numpy()
    enough = enough_at_risk(at_risk, most)
    start = np.minimum.reduceat(np.where(enough, age, np.inf), starts)
    few = (points["failures"].to_numpy() > 0.0) & ~enough
    sizes = np.diff(np.append(starts, len(age)))
    early = np.logical_or.reduceat(few & (age < np.repeat(start, sizes)), starts)
    early &= np.isfinite(start)
    collapsed = np.logical_or.reduceat(points["collapsed"].to_numpy(), starts)
    # the gap is told where the curve still stands when it begins
    gap_from = points["gap_from"].fill_null(float("nan")).to_numpy()[starts]
    gap = ~np.isnan(gap_from) & ~collapsed
    notes = []
    told = np.flatnonzero(collapsed | early)
    for i in told[:_SAID]:
        where = of_groups([int(group[starts[i]])], keys)
        if collapsed[i]:
            own = points.slice(int(starts[i]), int(sizes[i]))
            zero = age_words(own.filter(pl.col("survival") == 0.0)["age"][0], unit)
            words = (
                f"The curve {where} falls to 0 at age {zero}, where the few at risk all "
                "failed, although others were watched later; it says nothing beyond."
            )
        else:
            words = f"The curve {where} rests on very few lives at its earliest failures."
        if np.isfinite(start[i]):
            words += f" Read it as conditional on having reached age {age_words(start[i], unit)}."
        notes.append(words)
    for i in np.flatnonzero(gap)[:_SAID]:
        to = points["gap_to"][int(starts[i])]
        notes.append(
            f"Nobody {of_groups([int(group[starts[i]])], keys)} was watched between age "
            f"{age_words(gap_from[i], unit)} and {age_words(to, unit)}: the curve cannot know of "
            "failures there and takes none."
        )
    more = max(len(told) - _SAID, 0) + max(int(gap.sum()) - _SAID, 0)
    if more > 0:
        notes.append(f"The same holds for {more} further groups.")
    return notes


def of_groups(groups: Sequence[int], keys: pl.DataFrame) -> str:
    """The groups as a sentence names them: "of model A, model B and 3 more"."""
    if not keys.width:
        return "of all lives"
    names = [" ".join(f"{c} {v}" for c, v in keys.row(g, named=True).items()) for g in groups[:3]]
    more = f" and {len(groups) - 3} more" if len(groups) > 3 else ""
    return f"of {', '.join(names)}{more}"
