"""Kaplan-Meier with delayed entry, all groups at once. METHODS: km."""

import polars as pl

from fleet.fits.roots import normal_quantile
from fleet.fits.support import needed, risk_steps


def kaplan_meier(lives: pl.DataFrame, *, level: float) -> pl.DataFrame:
    """Survival of each `_group` of exact and right-censored lives at every failure age.

    ``S(t) = prod over failure ages a <= t of (1 - d / n)``, d failures among the n lives with
    entry < a <= low (Kaplan and Meier 1958; delayed entry: Tsai, Jewell and Wang 1987).
    Greenwood's variance, limits on the log(-log) scale, Nelson-Aalen cumulative hazard. Returns
    _group + frames.CURVE and `collapsed` (S fell to 0 while others were still to be watched).
    Besides the failure ages each group has a first row where watching begins (S = 1, at_risk
    just after that age) and a last row where it ends.
    """
    steps = risk_steps(lives)
    group = pl.col("_group")
    age = pl.col("age")
    first = steps.filter(age == age.min().over(group)).with_columns(
        at_risk=pl.col("after"), failures=pl.lit(0.0)
    )
    own = pl.col("failures") > 0
    last = (age == age.max().over(group)) & (age > age.min().over(group))
    rows = pl.concat([first, steps.filter(own | last)]).sort("_group", "age", maintain_order=True)
    most = steps.group_by("_group").agg(most=pl.col("after").max())
    rows = rows.join(most, on="_group", how="left", maintain_order="left")
    d, n = pl.col("failures"), pl.max_horizontal("at_risk", "failures")
    all_fail = (d > 0) & (d >= n * (1.0 - 1e-12))
    drop = pl.when(all_fail).then(0.0).otherwise(1.0 - pl.when(n > 0).then(d / n).otherwise(0.0))
    spread = pl.when(d > 0).then(d / (n * (n - d))).otherwise(0.0)
    rows = rows.with_columns(
        survival=drop.cum_prod().over(group),
        _variance=pl.when(all_fail).then(0.0).otherwise(spread).cum_sum().over(group),
        cumulative_hazard=pl.when(n > 0).then(d / n).otherwise(0.0).cum_sum().over(group),
    )
    # after a fall to 0 nothing that follows can lift the curve again
    gone = pl.col("survival") == 0.0
    left = pl.col("age").max().over(group) > age.filter(gone).min().over(group)
    rows = rows.with_columns(collapsed=gone & left.fill_null(value=False))
    return with_limits(rows, level).with_columns(
        supported=(pl.col("at_risk") >= needed(pl.col("most")) - 1e-9) & ~pl.col("collapsed")
    )


def with_limits(rows: pl.DataFrame, level: float) -> pl.DataFrame:
    """Limits of S from `_variance`, the variance of log S: on the log(-log) scale.

    ``S ** exp(+-z sqrt(variance) / log S)``; null where S is 0 or 1.
    """
    z = normal_quantile(0.5 + level / 2.0)
    s = pl.col("survival")
    defined = (s > 0.0) & (s < 1.0) & pl.col("_variance").is_finite()
    turn = (z * pl.col("_variance").sqrt() / s.log().abs()).exp()
    return rows.with_columns(
        survival_low=pl.when(defined).then(s.pow(turn)),
        survival_high=pl.when(defined).then(s.pow(1.0 / turn)),
    )
