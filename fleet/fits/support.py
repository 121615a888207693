"""How many lives are watched at each age, and from how many on a curve may be drawn."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.fits.rows import check_lives, group_codes

# A curve is drawn where at least this many are at risk: a tenth of the most that ever were,
# but never fewer than 3 and never asking for more than 10. Our own rule, no source.
FEWEST, ENOUGH, SHARE = 3.0, 10.0, 0.1


def needed(largest: pl.Expr) -> pl.Expr:
    """Lives that must be at risk for a supported point, from the largest number ever at risk."""
    return (largest * SHARE).clip(FEWEST, ENOUGH)


def risk_steps(lives: pl.DataFrame) -> pl.DataFrame:
    """Numbers at risk by age of lives with a column _group, by group and age.

    Columns: _group, age, at_risk (entry < age <= low), after (entry <= age < low), failures
    (rows with a failure, at `low`). Rows: every age at which a life enters or leaves.
    """
    count = lives["count"].to_numpy()
    none = np.zeros(len(count))
    failed = np.where(lives["high"].is_not_null().to_numpy(), count, 0.0)
    moves = pl.DataFrame(
        {
            "_group": pl.concat([lives["_group"], lives["_group"]]),
            "age": pl.concat([lives["entry"].rename("age"), lives["low"].rename("age")]),
            "come": np.concatenate([count, none]),
            "go": np.concatenate([none, count]),
            "failures": np.concatenate([none, failed]),
        }
    ).sort("_group", "age")
    # sums over runs of equal group and age: sorting and cutting beats a hash of so many keys
    group, age = moves["_group"].to_numpy(), moves["age"].to_numpy()
    new = np.ones(len(age), dtype=bool)
    new[1:] = (group[1:] != group[:-1]) | (age[1:] != age[:-1])
    cuts = np.flatnonzero(new)
    sums = {
        name: np.add.reduceat(moves[name].to_numpy(), cuts) if len(cuts) else none
        for name in ("come", "go", "failures")
    }
    steps = pl.DataFrame({"_group": group[cuts], "age": age[cuts], **sums})
    after = (pl.col("come") - pl.col("go")).cum_sum().over("_group")
    # shares of lives may leave a rounding error where nobody is left
    steps = steps.with_columns(after=pl.when(after.abs() < 1e-9).then(0.0).otherwise(after))
    before = pl.col("after").shift(1, fill_value=0.0).over("_group")
    return steps.select("_group", "age", "failures", "after", at_risk=before)


def watched(lives: pl.DataFrame, by: Sequence[str]) -> pl.DataFrame:
    """First and last age watched, and the ages between which enough are, one row per group.

    Columns: `by`, first, last, supported_from, supported_to. Interval rows count as watched up
    to the later end of their interval. Raises BadFrame.
    """
    check_lives(lives, by)
    keys, codes = group_codes(lives, by)
    end = pl.max_horizontal("low", "high")
    steps = risk_steps(lives.with_columns(low=end, _group=pl.Series(codes)))
    most = pl.col("after").max().over("_group")
    enough = pl.col("after") >= needed(most) - 1e-9
    last_enough = enough.shift(1, fill_value=False).over("_group")
    spans = steps.group_by("_group", maintain_order=True).agg(
        first=pl.col("age").min(),
        last=pl.col("age").max(),
        supported_from=pl.col("age").filter(enough).min(),
        supported_to=pl.col("age").filter(last_enough).max(),
    )
    return keys.hstack(spans.drop("_group")) if keys.width else spans.drop("_group")
