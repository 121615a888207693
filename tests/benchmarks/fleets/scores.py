"""How good the answers of an estimator are, given the truth: pure functions of frames.

Every fleet counts the same, however many units it has. Units are those thought to work at the
as-of date by the records; the true chance is that of a unit which works then. Costs leave out
sets renewed in part, which no single replacement age is about.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleets.cost import cost_curve
from fleets.make import Fleet

BINS = 10

# What is scored: one row per unit.
SCORED = pl.Schema(
    {
        "fleet": pl.String(),
        "unit": pl.String(),
        "true": pl.Float64(),  # chance to fail within two years
        "p_fail": pl.Float64(),  # null: no answer
        "p_fail_low": pl.Float64(),
        "p_fail_high": pl.Float64(),
        "advised": pl.Float64(),  # cost a year in planned recaps; null for sets renewed in part
        "best": pl.Float64(),
        "run_to_failure": pl.Float64(),
        "weight": pl.Float64(),  # adds up to 1 over a fleet's units
    }
)


def score_units(fleets: Sequence[Fleet], answers: pl.DataFrame) -> pl.DataFrame:
    """SCORED from an estimator's answers: unit, p_fail, p_fail_low, p_fail_high, optimal_age (days;
    null: run to failure). A unit without a row counts as without an answer, run to failure.
    """
    parts = []
    for fleet in fleets:
        listed = fleet.units.filter("thought_to_work")
        mine = listed.join(answers, on="unit", how="left", maintain_order="left", suffix="_said")
        parts.append(
            mine.select(
                "fleet",
                "unit",
                true="p_fail",
                p_fail="p_fail_said",
                p_fail_low="p_fail_low",
                p_fail_high="p_fail_high",
            ).hstack(_costs(fleet, mine)).with_columns(weight=1.0 / pl.len())
        )  # fmt: skip
    return pl.concat(parts).select(pl.col(c).cast(dtype) for c, dtype in SCORED.items())


def _costs(fleet: Fleet, units: pl.DataFrame) -> pl.DataFrame:
    scale, bad = units["scale_1"].to_numpy(), units["bad"].to_numpy()
    age = units["optimal_age"].cast(pl.Float64).fill_null(np.inf).to_numpy() / scale
    out = {name: np.empty(units.height) for name in ("advised", "best", "run_to_failure")}
    for share in np.unique(bad):
        curve = cost_curve(fleet.truth.law, failure=fleet.truth.cost, bad=float(share))
        here = bad == share
        a_year = DAYS_PER_YEAR / scale[here]
        out["advised"][here] = curve.at(age[here]) * a_year
        out["best"][here] = curve.best * a_year
        out["run_to_failure"][here] = curve.run_to_failure * a_year
    whole = pl.Series(~units["partial"].to_numpy())
    return pl.DataFrame(out).select(pl.when(whole).then(pl.all()))


@dataclass(frozen=True, slots=True, kw_only=True)
class Score:
    """One estimator on one set of fleets. Shares are 0 to 1; None where nothing can be said."""

    fleets: int
    units: float  # thought to work, a fleet
    answered: float  # share of units with a chance
    covered: float | None  # of those answered, share whose limits hold the true chance
    covered_error: float | None  # standard error, between fleets
    above: float | None  # the true chance is above the upper limit
    below: float | None
    calibration: float | None
    way: float | None  # 0: as good as can be, 1: as good as run to failure
    way_error: float | None
    cost_ratio: float  # to run to failure, mean over fleets
    worse: float  # share of fleets that cost more than 2 % above run to failure


def score(scored: pl.DataFrame) -> Score:
    """All scores of one frame of SCORED."""
    held, above, below = coverage(scored)
    ratio, worse = cost_ratio(scored)
    fleets = scored["fleet"].n_unique()
    return Score(
        fleets=fleets,
        units=scored.height / fleets,
        answered=float((scored["weight"] * scored["p_fail"].is_not_null()).sum()) / fleets,
        covered=held,
        covered_error=coverage_error(scored),
        above=above,
        below=below,
        calibration=calibration_error(scored),
        way=share_of_way(scored),
        way_error=way_error(scored),
        cost_ratio=ratio,
        worse=worse,
    )


def coverage(scored: pl.DataFrame) -> tuple[float | None, float | None, float | None]:
    """Share of units answered whose limits hold the true chance, share whose true chance is above
    the upper limit, and below the lower. A limit that is null is no limit: 0 or 1. Fleets without
    an answer do not count.
    """
    by_fleet = _missed(scored)
    if by_fleet.is_empty():
        return None, None, None
    high, low = by_fleet["above"].to_numpy().mean(), by_fleet["below"].to_numpy().mean()
    return float(1.0 - high - low), float(high), float(low)


def coverage_error(scored: pl.DataFrame) -> float | None:
    """Standard error of the share held, from its spread between fleets."""
    missed = _missed(scored).select(pl.col("above") + pl.col("below")).to_series().to_numpy()
    return float(missed.std(ddof=1) / np.sqrt(missed.size)) if missed.size > 1 else None


def _missed(scored: pl.DataFrame) -> pl.DataFrame:
    """Shares of each fleet's units answered above and below their limits."""
    answered = scored.filter(pl.col("p_fail").is_not_null())
    above = pl.col("true") > pl.col("p_fail_high").fill_null(1.0)
    below = pl.col("true") < pl.col("p_fail_low").fill_null(0.0)
    return answered.group_by("fleet", maintain_order=True).agg(
        above=above.mean(), below=below.mean()
    )


def calibration_error(scored: pl.DataFrame, *, bins: int = BINS) -> float | None:
    """Mean over the bins, by their weight, of |mean p_fail - mean true chance|.

    Units of all fleets are put in order of p_fail and cut into `bins` of equal weight; the true
    chance is used, not what then happened, so that no luck of the draw is in it.
    """
    answered = scored.filter(pl.col("p_fail").is_not_null()).sort("p_fail", "unit")
    if answered.is_empty():
        return None
    total = pl.col("weight").sum()
    middle = (pl.col("weight").cum_sum() - pl.col("weight") / 2.0) / total
    gap = ((pl.col("p_fail") - pl.col("true")) * pl.col("weight")).sum().abs()
    binned = answered.with_columns(bin=(middle * bins).floor())
    gaps = binned.group_by("bin").agg(gap=gap)["gap"]
    return float(gaps.to_numpy().sum() / answered["weight"].to_numpy().sum())


def fleet_costs(scored: pl.DataFrame) -> pl.DataFrame:
    """Mean cost a year of each fleet's whole sets: fleet, advised, best, run_to_failure."""
    return (
        scored.filter(pl.col("advised").is_not_null())
        .group_by("fleet", maintain_order=True)
        .agg(pl.col("advised", "best", "run_to_failure").mean())
    )


def share_of_way(scored: pl.DataFrame) -> float | None:
    """(advised - best) / (run to failure - best), each summed over the fleets' mean costs.

    None where running to failure is the best there is: no way to go.
    """
    sums = fleet_costs(scored).select(pl.col("advised", "best", "run_to_failure").sum())
    advised, best, failing = sums.row(0)
    return float((advised - best) / (failing - best)) if failing - best > 1e-6 * best else None


def way_error(scored: pl.DataFrame) -> float | None:
    """Standard error of the share of the way: of a ratio of sums over fleets, to first order."""
    costs = fleet_costs(scored)
    way = share_of_way(scored)
    if way is None:
        return None
    gone = (costs["advised"] - costs["best"]).to_numpy()
    whole = (costs["run_to_failure"] - costs["best"]).to_numpy()
    return float(np.sqrt(((gone - way * whole) ** 2).sum()) / whole.sum())


def cost_ratio(scored: pl.DataFrame) -> tuple[float, float]:
    """Mean over fleets of advised cost over that of running to failure, and the share of fleets
    where it is above 1.02.
    """
    costs = fleet_costs(scored)
    ratio = (costs["advised"] / costs["run_to_failure"]).to_numpy()
    return float(ratio.mean()), float((ratio > 1.02).mean())
