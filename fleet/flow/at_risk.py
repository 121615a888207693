"""The table beside a survival curve: who is watched at each age, and what came of them."""

import math
from collections.abc import Sequence

import polars as pl


def table_ages(oldest: float, *, rows: int = 10) -> list[float]:
    """Round ages in years from 0 to `oldest`, about `rows` of them, a whole year apart or more."""
    step = next(s for s in (1, 2, 5, 10, 20, 50, 100) if s >= 100 or oldest / s <= rows)
    return [float(i * step) for i in range(1, math.floor(oldest / step) + 1)] or [float(step)]


def at_risk_table(
    lives: pl.DataFrame, points: pl.DataFrame, *, by: Sequence[str], ages: Sequence[float]
) -> pl.DataFrame:
    """Sets at risk, failures so far and survival at round ages, for each group.

    Parameters
    ----------
    lives
        frames.LIFE and the `by` columns; ages in years.
    points
        `by` columns and frames.CURVE, in order of age within each group; ages in years.
    ages
        Ages to report, in years.

    Returns
    -------
    `by` columns, age, at_risk (lives watched at that age: entry < age <= low), failures (so far),
    survival, survival_low, survival_high (null where the curve is not supported). Groups without
    a curve are not in it.
    """
    if points.is_empty():
        return points.select(*by, "age", "at_risk", "failures", *_SURVIVAL)
    keys = list(by)
    groups = (
        points.select(keys).unique(maintain_order=True)
        if keys
        else pl.DataFrame({"_": [0]}, schema={"_": pl.Int32})
    )
    grid = groups.join(pl.DataFrame({"age": list(ages)}, schema={"age": pl.Float64}), how="cross")
    watched = [
        ((pl.col("entry") < age) & (pl.col("low") >= age))
        .cast(pl.Float64)
        .dot(pl.col("count"))
        .alias(str(i))
        for i, age in enumerate(ages)
    ]
    named = lives.with_columns(pl.col(c).cast(pl.String).fill_null("unknown") for c in keys)
    counts = (
        named.group_by(keys).agg(watched)
        if keys
        else named.select(pl.lit(0).alias("_"), *watched).head(1)
    )
    index = keys or ["_"]
    long = counts.unpivot(
        [str(i) for i in range(len(ages))], index=index, variable_name="i", value_name="at_risk"
    ).with_columns(
        age=pl.col("i").replace_strict(
            {str(i): float(age) for i, age in enumerate(ages)}, return_dtype=pl.Float64
        )
    )
    grid = grid.join(long.drop("i"), on=[*index, "age"], how="left", maintain_order="left")
    so_far = pl.col("failures").cum_sum()
    curve = points.with_columns(so_far.over(keys) if keys else so_far)
    out = grid.sort("age").join_asof(
        curve.select(*keys, "age", "failures", *_SURVIVAL, "supported").sort("age"),
        on="age",
        by=keys or None,
        strategy="backward",
        check_sortedness=False,  # sorted above; it cannot be checked within groups
    )
    before = pl.col("failures").is_null()
    seen = pl.col("supported").fill_null(True)
    out = out.with_columns(
        failures=pl.col("failures").fill_null(0.0),
        survival=pl.when(before).then(1.0).when(seen).then("survival"),
        survival_low=pl.when(seen & before.not_()).then("survival_low"),
        survival_high=pl.when(seen & before.not_()).then("survival_high"),
    )
    order = groups.with_row_index("order")
    return (
        out.join(order, on=index, how="left")
        .sort("order", "age")
        .select(*keys, "age", "at_risk", "failures", *_SURVIVAL)
    )


_SURVIVAL = ("survival", "survival_low", "survival_high")
