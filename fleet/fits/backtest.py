"""How well chances given in advance came true: who counts for whom, calibration, scores.

A case is one machine on one past day, with the chance it was given and what is known today of the
days after. A machine that was not followed to the end of the horizon says nothing of whether it
failed; those that were followed, and were given a like chance, count for it: inverse probability
of censoring weights (Graf, Schmoor, Sauerbrei and Schumacher 1999, Statistics in Medicine
18:2529-2545).
"""

# METHODS: backtest

from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
import polars as pl
from numpy.typing import NDArray
from polars.dataframe.group_by import GroupBy

from fleet.errors import BadInput
from fleet.frames import check_frame

Floats = NDArray[np.float64]
Mask = NDArray[np.bool_]

# One row for each machine and past day; several, with shares, where its fate is known in part.
CASES = pl.Schema(
    {
        "unit": pl.String(),
        "chance": pl.Float64(),  # given in advance
        "reference": pl.Float64(),  # the chance by plain counting
        "share": pl.Float64(),  # of the machine that this row is about, 0 to 1
        "failed": pl.Boolean(),  # within the horizon
        "days": pl.Float64(),  # to its failure, else to the last day it is known to be good
    }
)
# Chances of one size beside what happened.
BINS = pl.Schema(
    {
        "bin": pl.Int64(),  # 0: the lowest chances
        "chance_from": pl.Float64(),
        "chance_to": pl.Float64(),
        "predicted": pl.Float64(),  # their mean
        "happened": pl.Float64(),  # share that failed
        "happened_low": pl.Float64(),
        "happened_high": pl.Float64(),
        "cases": pl.Float64(),  # machines and days; a machine counts once for each past day
        "machines": pl.Int64(),
        "failures": pl.Float64(),  # as counted, without weights
    }
)
MOST_BINS = 10
CASES_A_BIN = 30.0
# Groups within which the lost are made up for, and how many of those that did not fail must have
# been followed to the end: that share, or that many. Our choices, no source.
MOST_GROUPS = 4
CASES_A_GROUP = 40.0
LEAST_FOLLOWED = 0.2
ENOUGH_FOLLOWED = 5.0


def weigh_cases(
    cases: pl.DataFrame,
    *,
    horizon: float,
    within: Sequence[str] = (),
    most_bins: int = MOST_BINS,
) -> pl.DataFrame:
    """CASES with `bin` (cases of like chance, 0 the lowest) and `weight`.

    A case followed to its failure or to the end of the horizon weighs share / G, G the chance not
    to have been lost from sight by then; others weigh 0. G is by Kaplan-Meier among cases of the
    same `within` columns and of like chance: as many groups as leave forty in each, fewer where
    too few of a group lived and were followed to the end (neither five nor a fifth of those that
    did not fail). Where that holds of all cases of the same `within` columns, they all weigh 0,
    for they cannot tell. `horizon` in days. Raises BadFrame, and BadInput for a chance outside 0
    to 1.
    """
    check_frame(cases, CASES, name="cases")
    shares = cases.select(pl.col("chance", "reference", "share").is_between(0.0, 1.0).all())
    if cases.height and shares.row(0) != (True, True, True):
        raise BadInput("a chance, reference or share of the cases lies outside 0 to 1")
    chance, share = cases["chance"].to_numpy(), cases["share"].to_numpy()
    failed = cases["failed"].to_numpy()
    days = np.minimum(cases["days"].to_numpy(), horizon)
    lost = ~failed & (days < horizon)
    bins = _bins(chance, share, int(np.clip(share.sum() // CASES_A_BIN, 1, most_bins)))
    place = _numbers(cases, within)
    weight = np.zeros(len(share))
    for one in np.unique(place):
        here = place == one
        weight[here] = _weights(chance[here], days[here], share[here], failed[here], lost[here])
    return cases.with_columns(bin=pl.Series(bins, dtype=pl.Int64), weight=pl.Series(weight))


def _numbers(cases: pl.DataFrame, within: Sequence[str]) -> NDArray[np.int64]:
    """The number of each row's group."""
    if not within:
        return np.zeros(cases.height, np.int64)
    groups = cases.select(within).unique(maintain_order=True).with_row_index("_number")
    numbered = cases.select(within).join(
        groups, on=list(within), how="left", nulls_equal=True, maintain_order="left"
    )
    return np.asarray(numbered["_number"].to_numpy(), np.int64)


def _weights(chance: Floats, days: Floats, share: Floats, failed: Mask, lost: Mask) -> Floats:
    """Weights of the cases of one day; all 0 where too few were followed to the end."""
    weight = np.zeros(len(share))
    for count in range(int(np.clip(share.sum() // CASES_A_GROUP, 1, MOST_GROUPS)), 0, -1):
        like = _bins(chance, share, count)
        kept, gone = (np.bincount(like, share * rows) for rows in (~failed & ~lost, lost))
        if ((kept >= LEAST_FOLLOWED * (kept + gone)) | (kept >= ENOUGH_FOLLOWED)).all():
            for one in range(int(like.max()) + 1):
                mine = like == one
                seen = _still_followed(days[mine], share[mine], failed[mine], lost[mine])
                weight[mine] = np.where(lost[mine], 0.0, share[mine] / seen)
            break
    return weight


def _bins(chance: Floats, share: Floats, count: int) -> NDArray[np.int64]:
    """Bins of equal share in order of chance; equal chances stay together."""
    values, place = np.unique(chance, return_inverse=True)
    held = np.bincount(place, share, minlength=len(values))
    middle = (np.cumsum(held) - held / 2.0) / max(held.sum(), 1e-300)
    wanted = np.floor(middle * count)[place]
    return np.asarray(np.unique(wanted, return_inverse=True)[1], np.int64)


def _still_followed(days: Floats, share: Floats, failed: Mask, lost: Mask) -> Floats:
    """Kaplan-Meier chance of not having been lost before each row's day.

    On one day failures come before losses, so whoever fails that day is at no risk of being lost.
    """
    times, place = np.unique(days, return_inverse=True)
    size = len(times)
    held, falls, losses = (
        np.bincount(place, w, minlength=size) for w in (share, share * failed, share * lost)
    )
    at_risk = held[::-1].cumsum()[::-1] - falls
    kept = 1.0 - np.divide(losses, at_risk, out=np.zeros(size), where=losses > 0.0)
    before = np.concatenate([[1.0], np.cumprod(kept)[:-1]])
    # Nobody is followed past a day on which all were lost, so nobody needs the 0 that follows.
    return np.asarray(before[place])


def calibration(weighed: pl.DataFrame, *, level: float = 0.90) -> pl.DataFrame:
    """What was said beside what happened, for each bin of cases weighed.

    Columns: BINS. Limits by Wilson 1927 (J. Am. Stat. Assoc. 22:209-212), with as many independent
    machines as the weights come to when all cases of one machine count as one.
    """
    ends = weighed.group_by("bin").agg(
        chance_from=pl.col("chance").min(), chance_to=pl.col("chance").max()
    )
    found = _happened(weighed, ("bin",), level).join(ends, on="bin")
    return found.sort("bin").select(pl.col(c).cast(t) for c, t in BINS.items())


def calibration_error(bins: pl.DataFrame) -> float | None:
    """Mean over bins, by their cases, of the gap between what was said and what happened."""
    known = bins.drop_nulls(["predicted", "happened"])
    if known.is_empty():
        return None
    said, happened, cases = (known[c].to_numpy() for c in ("predicted", "happened", "cases"))
    return float((np.abs(said - happened) * cases).sum() / cases.sum())


def scores(weighed: pl.DataFrame, *, by: Sequence[str] = (), level: float = 0.90) -> pl.DataFrame:
    """Scores of cases weighed, for each group in order of the groups.

    Columns: the groups; predicted, happened, happened_low, happened_high, cases, machines,
    failures as in `calibration`; brier (mean squared gap between chance and outcome: Brier 1950,
    Monthly Weather Review 78:1-3) and brier_reference (the same of the reference); gain (how far
    the first is below the second), gain_low, gain_high; log_score and log_score_reference (mean of
    -log of the chance given to what happened: Good 1952, J. R. Stat. Soc. B 14:107-114; null
    where something happened that was called impossible); followed (share of the cases whose fate
    is known); happened_least and happened_most (if none, or all, of the others failed).
    """
    y = pl.col("failed").cast(pl.Float64)
    total = pl.col("weight").sum()
    parts = {
        name: pl.when(total > 0).then(((pl.col(c) - y) ** 2 * pl.col("weight")).sum() / total)
        for name, c in (("brier", "chance"), ("brier_reference", "reference"))
    }
    logs = {
        name: pl.when(total > 0).then((_log_loss(c, y) * pl.col("weight")).sum() / total)
        for name, c in (("log_score", "chance"), ("log_score_reference", "reference"))
    }
    known = pl.col("weight") > 0
    held, failed = pl.col("share").sum(), (pl.col("share") * y).sum()
    rest = pl.col("share").filter(~known).sum()
    found = _grouped(weighed, by).agg(
        **parts,
        **logs,
        followed=1.0 - rest / held,
        happened_least=failed / held,
        happened_most=(failed + rest) / held,
    )
    gap = (pl.col("reference") - y) ** 2 - (pl.col("chance") - y) ** 2
    gains = mean_by_machine(weighed.with_columns(gain=gap), ("gain",), by=by, level=level)
    key = list(by) or [_ONE]
    finite = pl.when(pl.col("log_score", "log_score_reference").is_finite())
    return (
        _happened(weighed, by, level)
        .join(found, on=key, how="left", nulls_equal=True, maintain_order="left")
        .join(gains, on=key, how="left", nulls_equal=True, maintain_order="left")
        .with_columns(finite.then(pl.col("log_score", "log_score_reference")))
        .drop(*(() if by else (_ONE,)))
    )


def mean_by_machine(
    weighed: pl.DataFrame, columns: Sequence[str], *, by: Sequence[str] = (), level: float = 0.90
) -> pl.DataFrame:
    """Weighted means of columns for each group, with limits from their spread between machines.

    Columns: the groups (`_one` without any), and of each column x: x, x_low, x_high; limits null
    for fewer than two machines. Rows of weight 0, or null in that column, do not count.
    """
    key = list(by) or [_ONE]
    z = NormalDist().inv_cdf(0.5 + level / 2.0)
    out = _grouped(weighed, by).agg().sort(key)
    for name in columns:
        one = weighed.filter((pl.col("weight") > 0) & pl.col(name).is_not_null())
        of_machine = _grouped(one, [*by, "unit"]).agg(
            w=pl.col("weight").sum(), x=(pl.col("weight") * pl.col(name)).sum()
        )
        mean = pl.col("x").sum() / pl.col("w").sum()
        wide = ((pl.col("x") - mean * pl.col("w")) ** 2).sum().sqrt() / pl.col("w").sum()
        many = pl.len().cast(pl.Float64)
        error = pl.when(pl.len() > 1).then(wide * (many / (many - 1.0)).sqrt() * z)
        means = _grouped(of_machine, by).agg(mean.alias(name), error.alias("_error"))
        out = out.join(means, on=key, how="left", nulls_equal=True, maintain_order="left")
        out = out.with_columns(
            (pl.col(name) - pl.col("_error")).alias(f"{name}_low"),
            (pl.col(name) + pl.col("_error")).alias(f"{name}_high"),
        ).drop("_error")
    return out


_ONE = "_one"


def _grouped(frame: pl.DataFrame, by: Sequence[str]) -> GroupBy:
    if by:
        return frame.group_by(list(by), maintain_order=True)
    return frame.with_columns(pl.lit(0).alias(_ONE)).group_by(_ONE)


def _log_loss(chance: str, y: pl.Expr) -> pl.Expr:
    """-log of the chance given to what happened; 0 log 0 is 0."""
    said = pl.col(chance)
    return -pl.when(y > 0).then(said.log()).otherwise((-said).log1p())


def _happened(weighed: pl.DataFrame, by: Sequence[str], level: float) -> pl.DataFrame:
    """Predicted and happened shares with limits, and what they rest on."""
    y = pl.col("failed").cast(pl.Float64)
    key = list(by) or [_ONE]
    of_machine = _grouped(weighed, [*by, "unit"]).agg(w=pl.col("weight").sum())
    sizes = _grouped(of_machine, by).agg(
        size=pl.col("w").sum() ** 2 / (pl.col("w") ** 2).sum(),
        machines=pl.len().cast(pl.Int64),
    )
    total = pl.col("weight").sum()
    means = _grouped(weighed, by).agg(
        predicted=pl.when(total > 0).then((pl.col("weight") * pl.col("chance")).sum() / total),
        happened=pl.when(total > 0).then((pl.col("weight") * y).sum() / total),
        cases=pl.col("share").sum(),
        failures=(pl.col("share") * y).sum(),
    )
    z2 = NormalDist().inv_cdf(0.5 + level / 2.0) ** 2
    n, p = pl.col("size"), pl.col("happened")
    middle = (p + z2 / (2.0 * n)) / (1.0 + z2 / n)
    half = (p * (1.0 - p) / n + z2 / (4.0 * n**2)).sqrt() * z2**0.5 / (1.0 + z2 / n)
    return (
        means.join(sizes, on=key, how="left", nulls_equal=True, maintain_order="left")
        .with_columns(
            happened_low=(middle - half).clip(lower_bound=0.0),
            happened_high=(middle + half).clip(upper_bound=1.0),
        )
        .with_columns(pl.when(p.is_not_null()).then(pl.col("happened_low", "happened_high")))
        .drop("size")
        .sort(key)
    )  # fmt: skip
