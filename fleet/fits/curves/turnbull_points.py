"""Points and notes of Turnbull's curves, group by group."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.fits.curves.cells import find_cells
from fleet.fits.curves.curve_notes import age_words, of_groups
from fleet.fits.curves.kaplan_meier import with_limits
from fleet.fits.curves.support import needed
from fleet.fits.curves.turnbull import Npmle, npmle
from fleet.fits.rows import Floats, Mask, Rows, cut_rows

_CONVERGED = 1e-7  # of the lives: the most by which the conditions of a maximum may be missed
_NONE = 1e-10  # failures as a share of the lives that are but rounding
_SAID = 5


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Group:
    """One group's points, and which sentences it needs."""

    number: int
    points: pl.DataFrame
    only_failed: bool = False
    rough: bool = False
    others: bool = False
    open_ages: tuple[float, float] | None = None
    lost_by: float | None = None


def turnbull_points(
    coded: pl.DataFrame, keys: pl.DataFrame, *, level: float, unit: str | None
) -> tuple[pl.DataFrame, list[str]]:
    """Turnbull's estimate of each `_group` with limits: as kaplan_meier gives it, and notes."""
    rows = cut_rows(coded, ("_group",))
    groups = rows.keys["_group"].to_list()
    found = [_one(rows.take(i, i + 1), group) for i, group in enumerate(groups)]
    points = with_limits(pl.concat([group.points for group in found]), level)
    # survival cannot rise, so neither may its limits; widened, not narrowed, where they would
    # (with exact and right-censored lives they stay Kaplan-Meier's, as everybody prints them)
    told = points["survival_low"].is_not_null() & points["_windows"]
    points = points.with_columns(
        survival_low=pl.col("survival_low").fill_null(1.0).cum_min().over("_group"),
        survival_high=pl.col("survival_high")
        .fill_null(0.0)
        .reverse()
        .cum_max()
        .reverse()
        .over("_group"),
        _low="survival_low",
        _high="survival_high",
    ).with_columns(
        pl.when(told).then(f"survival{side}").otherwise(side).alias(f"survival{side}")
        for side in ("_low", "_high")
    )
    zero = pl.col("age").filter(pl.col("survival") == 0.0).min().over("_group")
    gone = (pl.col("survival") == 0.0) & (pl.col("_last_seen") > zero)
    points = points.with_columns(collapsed=gone.fill_null(value=False))
    enough = pl.col("at_risk") >= needed(pl.col("most")) - 1e-9
    known = pl.col("survival").is_not_null() & ~pl.col("_lost")
    return points.with_columns(supported=enough & ~pl.col("collapsed") & known), _notes(
        found, keys, unit
    )


def _one(own: Rows, group: int) -> _Group:
    failed = ~np.isnan(own.high)
    only_failed = bool(failed.any()) and bool((~np.isnan(own.known_by[failed])).all())
    if only_failed:
        own = _kept(own, failed)
    if not failed.any():
        return _Group(number=group, points=_points(own, group, np.zeros(0), {}))
    cells = find_cells(own)
    fit = npmle(cells)
    lost = _lost(fit)
    # what rounding leaves in cells without mass is none
    failures = np.where(fit.failures > _NONE * own.count.sum(), fit.failures, 0.0)
    survival = np.where(fit.survival > 1.0 - _NONE, 1.0, fit.survival)
    survival = np.where(survival < _NONE, 0.0, survival)
    values = {
        "failures": failures,
        "survival": np.where(fit.open_at, np.nan, survival),
        "cumulative_hazard": np.where(fit.open_at, np.nan, np.cumsum(fit.hazard)),
        "_variance": fit.variance,
    }
    lost_by = float(cells.right[lost][-1]) if lost.any() else None
    open_right = cells.right[fit.open_at]
    points = _points(own, group, cells.right, values)
    told = (pl.col("failures") > 0.0) | pl.col("survival").is_nan()
    # the last row where watching ends, not where the last interval does
    first, last = pl.int_range(pl.len()) == 0, pl.int_range(pl.len()) == points.height - 1
    ends = first | (last & (pl.col("age") <= pl.col("_last_seen")))
    if lost_by is not None:
        told |= pl.col("age") <= lost_by
    points = points.filter(told | ends).with_columns(
        pl.col("survival", "cumulative_hazard").fill_nan(None),
        _lost=pl.lit(value=False) if lost_by is None else pl.col("age") <= lost_by,
    )
    return _Group(
        number=group,
        points=points,
        only_failed=only_failed,
        rough=fit.excess > _CONVERGED,
        others=fit.others,
        open_ages=(float(open_right[0]), float(open_right[-1])) if len(open_right) else None,
        lost_by=lost_by,
    )


def _lost(fit: Npmle) -> Mask:
    """Cells with failures whose share in the whole is nothing in the limit."""
    lost = (
        (fit.failures > 1e-9 * fit.failures.max(initial=0.0))
        & (fit.survival > 0.0)
        & (fit.hazard <= 0.0)
    )
    return np.asarray(lost & ~fit.open_at & fit.vanished)


def _notes(found: Sequence[_Group], keys: pl.DataFrame, unit: str | None) -> list[str]:
    def where(those: list[_Group]) -> str:
        return of_groups([group.number for group in those], keys)

    notes = []
    if those := [group for group in found if group.only_failed]:
        notes.append(
            f"Every failure {where(those)} is known only because it happened: the curve holds for "
            "lives that fail by its last age and says nothing of how many do."
        )
    lost = [group for group in found if group.lost_by is not None]
    notes += [
        f"There is no best curve {where([group])}: the failures up to age "
        f"{age_words(group.lost_by or 0.0, unit)} were known only beside each other and cannot be "
        "weighed against later ones. The curve shows what ever better fits run to; do not read "
        "it up to that age."
        for group in lost[:_SAID]
    ]
    unsure = [group for group in found if group.open_ages is not None]
    for group in unsure[:_SAID]:
        first, last = group.open_ages or (0.0, 0.0)
        span = f"at age {age_words(first, unit)}"
        if last > first:
            span = f"at ages from {age_words(first, unit)} to {age_words(last, unit)}"
        notes.append(
            f"The lives do not settle the curve {where([group])} {span}: several curves fit "
            "equally well, so no survival is given there."
        )
    if more := len(lost[_SAID:]) + len(unsure[_SAID:]):
        notes.append(f"The same holds for {more} further groups.")
    if those := [group for group in found if group.others]:
        notes.append(
            f"More than one curve {where(those)} fits better than all near it: the best of those "
            "found is shown."
        )
    if those := [group for group in found if group.rough]:
        notes.append(
            f"The curve {where(those)} is not fully converged: its last digits may be off."
        )
    return notes


def _kept(own: Rows, keep: Mask) -> Rows:
    return Rows(
        keys=own.keys,
        starts=np.array([0, int(keep.sum())]),
        entry=own.entry[keep],
        low=own.low[keep],
        high=own.high[keep],
        known_by=own.known_by[keep],
        count=own.count[keep],
    )


def _points(own: Rows, group: int, ages: Floats, values: dict[str, Floats]) -> pl.DataFrame:
    """Rows of one group: where watching begins, the end of each cell, where watching ends.

    An interval that reaches beyond the last cell is no watching: its failure came before.
    """
    end = np.where(np.isnan(own.high), own.low, own.high)
    begin, last = own.entry.min(), own.low.max()
    tail = bool(last > (ages[-1] if len(ages) else begin))
    grid = np.concatenate(([begin], ages, [last] if tail else []))
    enter, leave = np.argsort(own.entry), np.argsort(end)
    come = np.concatenate(([0.0], np.cumsum(own.count[enter])))
    go = np.concatenate(([0.0], np.cumsum(own.count[leave])))

    def watched(at: Floats, side: str) -> Floats:
        entered = np.searchsorted(own.entry[enter], at, side)  # type: ignore[call-overload]
        left = np.searchsorted(end[leave], at, side)  # type: ignore[call-overload]
        return np.asarray(come[entered] - go[left])

    before = watched(grid, "left")
    before[0] = watched(grid[:1], "right")[0]
    defaults = {"failures": 0.0, "survival": 1.0, "cumulative_hazard": 0.0, "_variance": 0.0}
    columns: dict[str, Floats] = {}
    for name, at_start in defaults.items():
        given = values.get(name, np.zeros(0))
        carried = 0.0 if name == "failures" else (given[-1] if len(given) else at_start)
        columns[name] = np.concatenate(([at_start], given, [carried] if tail else []))
    # the most ever watched is reached at an entry
    most = max(float(watched(own.entry, "right").max()), float(before.max()))
    return pl.DataFrame({"age": grid, "at_risk": before, **columns}).with_columns(
        _group=pl.lit(group, dtype=pl.Int64),
        most=pl.lit(most),
        gap_from=pl.lit(None, pl.Float64),
        gap_to=pl.lit(None, pl.Float64),
        _last_seen=pl.lit(float(last)),
        _windows=pl.lit(bool(((own.high > own.low) | ~np.isnan(own.known_by)).any())),
        _lost=pl.lit(value=False),
    )
