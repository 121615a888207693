"""How many lives are watched at each age, and from how many on a curve may be drawn."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.fits.curves.age_order import order_moves
from fleet.fits.rows import Floats, Ints, Mask, check_lives, group_codes
from fleet.fits.runs import first_of_runs

# A curve is drawn where at least this many are at risk: a tenth of the most that ever were,
# but never fewer than 3 and never asking for more than 10. Our own rule, no source.
FEWEST, ENOUGH, SHARE = 3.0, 10.0, 0.1


def needed(largest: pl.Expr) -> pl.Expr:
    """Lives that must be at risk for a supported point, from the largest number ever at risk."""
    return (largest * SHARE).clip(FEWEST, ENOUGH)


def enough_at_risk(at_risk: Floats, largest: Floats) -> Mask:
    """Where the lives at risk are enough for a supported point."""
    return np.asarray(at_risk >= np.clip(largest * SHARE, FEWEST, ENOUGH) - 1e-9)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Steps:
    """Numbers at risk by group and age: every age at which a life enters or leaves.

    `at_risk`: lives with entry < age <= low; `after`: entry <= age < low; `failures`: lives that
    failed, at their `low`.
    """

    group: Ints
    age: Floats
    failures: Floats
    after: Floats
    at_risk: Floats


def risk_steps(lives: pl.DataFrame) -> Steps:
    """Numbers at risk by age of lives with a column _group, from one sort of all ages."""
    code = lives["_group"].to_numpy()
    entry, low, count = (lives[c].to_numpy() for c in ("entry", "low", "count"))
    failed = np.where(lives["high"].is_not_null().to_numpy(), count, 0.0)
    moves = order_moves(code, entry, low, count, failed)
    new = np.ones(len(moves.age), dtype=bool)
    new[1:] = (moves.group[1:] != moves.group[:-1]) | (moves.age[1:] != moves.age[:-1])
    cuts = np.flatnonzero(new)
    group, age = moves.group[cuts], moves.age[cuts]
    change = np.add.reduceat(moves.change, cuts) if len(cuts) else moves.change
    failures = np.add.reduceat(moves.failures, cuts) if len(cuts) else moves.failures
    starts = first_of_runs(group)
    after = np.cumsum(change)
    # every life enters and leaves, so that each group ends at 0 but for rounding
    sizes = np.diff(np.append(starts, len(group)))
    after = after - np.repeat(np.concatenate(([0.0], after[starts[1:] - 1]))[: len(starts)], sizes)
    # shares of lives may leave a rounding error where nobody is left
    after[np.abs(after) < 1e-9 * min(1.0, count.max(initial=0.0))] = 0.0
    before = np.concatenate(([0.0], after[:-1]))[: len(after)]
    before[starts] = 0.0
    return Steps(group=group, age=age, failures=failures, after=after, at_risk=before)


def watched(lives: pl.DataFrame, by: Sequence[str]) -> pl.DataFrame:
    """First and last age watched, and the ages between which enough are, one row per group.

    Columns: `by`, first, last, supported_from, supported_to. Interval rows count as watched up
    to the later end of their interval. Raises BadFrame.
    """
    check_lives(lives, by)
    keys, codes = group_codes(lives, by)
    end = pl.max_horizontal("low", "high")
    steps = risk_steps(lives.with_columns(low=end, _group=pl.Series(codes)))
    starts = first_of_runs(steps.group)
    if not len(starts):
        return _empty_spans(keys)
    sizes = np.diff(np.append(starts, len(steps.age)))
    most = np.repeat(np.maximum.reduceat(steps.after, starts), sizes)
    enough = enough_at_risk(steps.after, most)
    last_enough = np.append(False, enough[:-1])
    last_enough[starts] = False
    low = np.minimum.reduceat(np.where(enough, steps.age, np.inf), starts)
    high = np.maximum.reduceat(np.where(last_enough, steps.age, -np.inf), starts)
    spans = pl.DataFrame(
        {
            "first": steps.age[starts],
            "last": steps.age[starts + sizes - 1],
            "supported_from": low,
            "supported_to": high,
        }
    ).with_columns(
        pl.when(pl.col(c).is_finite()).then(pl.col(c)) for c in ("supported_from", "supported_to")
    )
    return keys.hstack(spans) if keys.width else spans


def _empty_spans(keys: pl.DataFrame) -> pl.DataFrame:
    names = ("first", "last", "supported_from", "supported_to")
    spans = pl.DataFrame(schema=dict.fromkeys(names, pl.Float64))
    return keys.clear().hstack(spans) if keys.width else spans
