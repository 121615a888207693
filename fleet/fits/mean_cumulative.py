"""Failures of machines that are repaired and go on: how many by each age. METHODS: repeated."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadFrame, BadInput
from fleet.fits.curves.repeated_rows import History, histories
from fleet.fits.curves.support import enough_at_risk
from fleet.fits.roots import normal_quantile
from fleet.fits.rows import Floats, Ints, check_lives, group_sum
from fleet.fits.runs import Runs, first_of_runs
from fleet.fits.weibull import check_level

# How many failures a machine has had on average, by age. Group columns come first.
MEAN_FAILURES = pl.Schema(
    dict.fromkeys(
        ("age", "at_risk", "failures", "mean_failures", "mean_failures_low", "mean_failures_high"),
        pl.Float64(),
    )
    | {"standard_error": pl.Float64(), "supported": pl.Boolean()}
)

# Whether failures come faster with age: rates (failures of one machine per unit of age) before
# and after the middle of the ages watched by enough, and the chance of so large a difference
# where there is none.
PACE = pl.Schema(
    {
        "units": pl.Float64(),
        "failures": pl.Float64(),
        "middle": pl.Float64(),
        "last": pl.Float64(),
        "rate_before": pl.Float64(),
        "rate_after": pl.Float64(),
        "p_value": pl.Float64(),
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class MeanCumulative:
    """`points`: group columns + MEAN_FAILURES, by group and age; `pace`: group columns + PACE."""

    points: pl.DataFrame
    pace: pl.DataFrame


def mean_cumulative(
    events: pl.DataFrame, *, unit: str, by: Sequence[str] = (), level: float = 0.95
) -> MeanCumulative:
    """Mean number of failures of a unit by age, with limits from a robust variance.

    ``M(t) = sum over failure ages a <= t of d / n``: d failures of the n units with
    entry < a <= end (Nelson 1995, Technometrics 37:147-157). Variance: sum over units of the
    squared influence ``sum over a <= t of [at risk] (d_i - d / n) / n`` (Lawless and Nadeau 1995,
    Technometrics 37:158-168), right whatever ties the failures of a unit together. Limits
    ``M exp(+-z se / M)``.

    `events`: frames.LIFE and the columns `unit` and `by`. A row with low = high is a failure of a
    unit that goes on (`count` of them); the rows of a unit together say from where (its smallest
    entry) to where (its largest low) it was watched. A unit is one within its group. Each group
    has a first row where watching begins. Raises BadFrame where a failure is not known to its
    age, or is known only because it happened.
    """
    check_level(level)
    if unit in by:
        raise BadInput(f"grouping by {unit} would make every machine a group; leave it out")
    check_lives(events, [unit, *by])
    _refuse(events)
    told = histories(events, unit, by)
    if not len(told.entry):
        return MeanCumulative(
            points=events.select(by).clear().hstack(pl.DataFrame(schema=MEAN_FAILURES)),
            pace=events.select(by).clear().hstack(pl.DataFrame(schema=PACE)),
        )
    found = _Estimate(told)
    points, group = found.points(level)
    if told.keys.width:
        points = told.keys[group].hstack(points)
    pace = found.pace()
    return MeanCumulative(points=points, pace=told.keys.hstack(pace) if told.keys.width else pace)


def _refuse(events: pl.DataFrame) -> None:
    faults = (
        (pl.col("known_by").is_not_null(), "is known only because it failed (known_by)"),
        (pl.col("high") > pl.col("low"), "has a failure known only to an interval"),
    )
    for when, words in faults:
        rows = events.select(when.fill_null(value=False)).to_series().arg_true()
        if len(rows):
            raise BadFrame(
                f"row {rows[0] + 1} of the life table {words}; repeated failures need the age of "
                "each, so correct it or leave it out"
            )


class _Estimate:
    """Sums at the failure ages of all groups, from sorted ages."""

    def __init__(self, told: History) -> None:
        self.told = told
        order = np.lexsort((told.event_age, told.group[told.event_unit]))
        unit, age = told.event_unit[order], told.event_age[order]
        own = told.event_count[order]
        group = told.group[unit]
        new = np.ones(len(age), dtype=bool)
        new[1:] = (group[1:] != group[:-1]) | (age[1:] != age[:-1])
        cuts = np.flatnonzero(new)
        which = np.cumsum(new) - 1  # the failure age of each event
        self.group, self.age = group[cuts], age[cuts]
        self.failed = np.bincount(which, weights=own, minlength=len(cuts))
        self._place()
        self.at_risk = self._sum_at_risk(np.ones(len(told.entry)))
        self.runs = Runs(first_of_runs(self.group), len(self.age))
        self.mean = self.runs.sums(self.failed / self.at_risk)
        self.drift = self.runs.sums(self.failed / self.at_risk**2)
        self.variance = self._variance(unit, own, which)

    def _place(self) -> None:
        """Rank of every entry, end and failure age among all pairs of group and age."""
        told = self.told
        groups = np.concatenate((told.group, told.group, self.group))
        ages = np.concatenate((told.entry, told.end, self.age))
        order = np.lexsort((ages, groups))
        new = np.zeros(len(order), dtype=np.int64)
        new[1:] = (np.diff(groups[order]) != 0) | (np.diff(ages[order]) != 0)
        rank = np.empty_like(new)
        rank[order] = np.cumsum(new)
        size = len(told.entry)
        self.enters, self.leaves, self.at = rank[:size], rank[size : 2 * size], rank[2 * size :]
        self.ranks = int(rank.max(initial=0)) + 1

    def _sum_at_risk(self, values: Floats) -> Floats:
        """Sum of the units' values over those with entry < age <= end, at each failure age."""
        come = np.cumsum(np.bincount(self.enters, weights=values, minlength=self.ranks))
        go = np.cumsum(np.bincount(self.leaves, weights=values, minlength=self.ranks))
        return np.asarray((come - go)[self.at - 1])

    def _drift_by(self, rank: Ints, group: Ints) -> Floats:
        """Running sum of d / n^2 up to and with a rank, of its own group."""
        if not len(self.at):
            return np.zeros(len(rank))
        last = np.searchsorted(self.at, rank, side="right") - 1
        inside = (last >= 0) & (self.group[np.maximum(last, 0)] == group)
        return np.where(inside, self.drift[np.maximum(last, 0)], 0.0)

    def _variance(self, unit: Ints, own: Floats, which: Ints) -> Floats:
        """Sum of squared influences, by what each failure age adds to it."""
        told, n, d = self.told, self.at_risk, self.failed
        self.drift_in = self._drift_by(self.enters, told.group)
        # what each unit's own failures have added to its influence, before each of them
        by_unit = np.argsort(unit, kind="stable")
        added = own / n[which]
        before = np.empty(len(own))
        runs = Runs(first_of_runs(unit[by_unit]), len(own))
        before[by_unit] = runs.sums(added[by_unit]) - added[by_unit]
        total = np.bincount(unit, weights=added, minlength=len(told.entry))
        earlier = np.cumsum(np.bincount(which, weights=added, minlength=len(d)))
        earlier = np.concatenate(([0.0], earlier[:-1]))
        gone = np.cumsum(np.bincount(self.leaves, weights=total, minlength=self.ranks))
        drift = self.drift - d / n**2
        sum_at_risk = earlier - gone[self.at - 1] - n * drift + self._sum_at_risk(self.drift_in)
        influence = before - drift[which] + self.drift_in[unit]
        cross = np.bincount(which, weights=own * influence, minlength=len(d))
        square = np.bincount(which, weights=own * own, minlength=len(d))
        step = 2.0 * (cross - d / n * sum_at_risk) / n + (square - d * d / n) / n**2
        variance = self.runs.sums(step)
        # what rounding leaves where the units do not differ
        return np.where(variance > 1e-13 * self.mean**2, variance, 0.0)

    def points(self, level: float) -> tuple[pl.DataFrame, Ints]:
        """MEAN_FAILURES and the group of each row, a first row where watching begins included."""
        told, groups = self.told, self.told.groups
        begin = np.full(groups, np.inf)
        np.minimum.at(begin, told.group, told.entry)
        first = np.array(
            [self._watched(np.arange(groups), begin), *np.zeros((4, groups))], dtype=np.float64
        )
        z = normal_quantile(0.5 + level / 2.0)
        error = np.sqrt(self.variance)
        turn = np.exp(z * error / self.mean)
        known = error > 0.0
        most = np.full(groups, 0.0)
        np.maximum.at(most, self.group, self.at_risk)
        most = np.maximum(most, first[0])
        group = np.concatenate((np.arange(groups), self.group))
        at_risk = np.concatenate((first[0], self.at_risk))
        none = np.full(groups, np.nan)
        frame = pl.DataFrame(
            {
                "age": np.concatenate((begin, self.age)),
                "at_risk": at_risk,
                "failures": np.concatenate((first[1], self.failed)),
                "mean_failures": np.concatenate((first[2], self.mean)),
                "mean_failures_low": np.concatenate(
                    (none, np.where(known, self.mean / turn, np.nan))
                ),
                "mean_failures_high": np.concatenate(
                    (none, np.where(known, self.mean * turn, np.nan))
                ),
                "standard_error": np.concatenate((first[3], error)),
                "supported": enough_at_risk(at_risk, most[group]),
                "_group": group,
            }
        ).with_columns(pl.col("mean_failures_low", "mean_failures_high").fill_nan(None))
        frame = frame.sort("_group", "age", maintain_order=True)
        return frame.select(MEAN_FAILURES.names()), frame["_group"].to_numpy()

    def _watched(self, group: Ints, age: Floats) -> Floats:
        """Units watched just after an age of each group."""
        told = self.told
        own = (told.entry <= age[told.group]) & (told.end > age[told.group])
        return np.bincount(told.group, weights=own, minlength=len(group)).astype(np.float64)

    def pace(self) -> pl.DataFrame:
        """PACE of each group: rates in the two halves of the ages that enough units reached."""
        told, groups = self.told, self.told.groups
        begin = np.full(groups, np.inf)
        np.minimum.at(begin, told.group, told.entry)
        last = _still_enough(told)
        middle = (begin + last) / 2.0
        half = np.maximum(last - middle, 1e-300)
        mean_a, psi_a = self._at(middle)
        mean_b, psi_b = self._at(last)
        change = ((psi_b - psi_a) - psi_a) / half[told.group]
        error = np.sqrt(np.bincount(told.group, weights=change**2, minlength=groups))
        rate_before, rate_after = mean_a / half, (mean_b - mean_a) / half
        from scipy.special import ndtr

        with np.errstate(divide="ignore", invalid="ignore"):
            p = 2.0 * ndtr(-np.abs(rate_after - rate_before) / error)
        usable = (last > begin) & (error > 0.0)
        failures = np.bincount(self.group, weights=self.failed, minlength=groups).astype(np.float64)
        return pl.DataFrame(
            {
                "units": np.bincount(told.group, minlength=groups).astype(np.float64),
                "failures": failures,
                "middle": np.where(usable, middle, np.nan),
                "last": np.where(usable, last, np.nan),
                "rate_before": np.where(usable, rate_before, np.nan),
                "rate_after": np.where(usable, rate_after, np.nan),
                "p_value": np.where(usable, p, np.nan),
            }
        ).fill_nan(None)

    def _at(self, age: Floats) -> tuple[Floats, Floats]:
        """Mean at one age of each group, and the influence of every unit on it."""
        told = self.told
        upto = self.age <= age[self.group]
        mean = np.bincount(
            self.group, weights=upto * self.failed / self.at_risk, minlength=told.groups
        )
        drift = np.bincount(
            self.group, weights=upto * self.failed / self.at_risk**2, minlength=told.groups
        )
        own = told.event_age <= age[told.group[told.event_unit]]
        place = np.searchsorted(self.at, self._event_ranks())
        added = own * told.event_count / self.at_risk[place]
        psi = group_sum(told.event_unit, added, len(told.entry))
        seen = np.minimum(drift[told.group], self._drift_by(self.leaves, told.group))
        return np.asarray(mean, dtype=np.float64), psi - np.maximum(seen - self.drift_in, 0.0)

    def _event_ranks(self) -> Ints:
        told = self.told
        group = told.group[told.event_unit]
        order = np.lexsort((told.event_age, group))
        new = np.ones(len(order), dtype=bool)
        new[1:] = (np.diff(group[order]) != 0) | (np.diff(told.event_age[order]) != 0)
        ranks = np.empty(len(order), dtype=np.int64)
        ranks[order] = self.at[np.cumsum(new) - 1]
        return ranks


def _still_enough(told: History) -> Floats:
    """Last age that as many units reached as a supported point needs."""
    last = np.zeros(told.groups)
    sizes = np.bincount(told.group, minlength=told.groups).astype(np.float64)
    order = np.lexsort((-told.end, told.group))
    group = told.group[order]
    place = np.arange(len(order)) - np.searchsorted(group, group)
    reached = enough_at_risk(np.asarray(place + 1.0), np.asarray(sizes[group]))
    np.maximum.at(last, group[reached], told.end[order][reached])
    return last
