"""How many failures were to be expected of machines for as long as each was followed.

Given the draws, the cumulative hazard gathered over the days a machine was followed (to its own
failure, or to the last day it is known to be good) is the expected number of its failures; the
number that failed less the sum of these is a martingale, of variance about that sum (Aalen 1978,
Annals of Statistics 6:701-726), whatever made machines drop out of sight. So the number that
failed is held against the mixture over the draws of Poisson laws. METHODS: backtest-counts
"""

from datetime import date

import numpy as np
import polars as pl

from fleet.decisions.count_limits import count_limits
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.failing_sums import levelled
from fleet.decisions.forecast import unit_law
from fleet.decisions.units_by_cell import units_by_cell
from fleet.decisions.weibull_life import Floats
from fleet.frames import check_frame

_AT_ONCE = 2048

FOLLOWED = pl.Schema(
    {
        "unit": pl.String(),
        "days": pl.Float64(),  # followed after the as-of day
        "share": pl.Float64(),  # of the unit that this row is about
    }
)
COUNTS = pl.Schema(
    {
        "model": pl.String(),  # null: all models
        "expected": pl.Float64(),
        "low": pl.Float64(),
        "high": pl.Float64(),
    }
)


def followed_failures(
    working: pl.DataFrame,
    cells: pl.DataFrame,
    draws: pl.DataFrame,
    prompt_shares: pl.DataFrame,
    followed: pl.DataFrame,
    *,
    as_of: date,
    level: float = 0.90,
) -> pl.DataFrame:
    """COUNTS of the units followed, all models first.

    `followed` (FOLLOWED) has units known today to have worked at `as_of`; the rest as in
    `due_by_draws`. Raises BadFrame.
    """
    check_frame(followed, FOLLOWED, name="followed")
    those = working.join(followed.select("unit").unique(), on="unit", how="semi")
    listed, units, _ = units_by_cell(those, cells, prompt_shares, as_of=as_of)
    if listed.is_empty():
        return pl.DataFrame(schema=COUNTS)
    lives = DrawnLives.of(cells, draws)
    rows = (
        listed.select("unit", "model")
        .with_row_index("place")
        .join(followed, on="unit", how="inner", maintain_order="left")
    )
    models = rows["model"].unique().sort()
    group = rows["model"].replace_strict(models, range(len(models)), return_dtype=pl.Int64)
    numbers = group.to_numpy()
    sums = [np.zeros((2 * len(models), lives.draws)) for _ in range(2)]
    counted = np.zeros(2 * len(models))
    weight = np.zeros((len(models), lives.draws))
    days, share = rows["days"].to_numpy(), rows["share"].to_numpy()
    for first in range(0, rows.height, _AT_ONCE):
        here = slice(first, first + _AT_ONCE)
        some = units.take(rows["place"].to_numpy()[here].astype(np.int64))
        law = unit_law(lives, some, place=first)
        base = lives.weight[some.cell] / lives.weight[some.cell].sum(axis=1, keepdims=True)
        doubt = np.divide(law.weight, base, out=np.ones_like(base), where=base > 0.0)
        weight[numbers[here]] = base
        gathered = law.added(law.age, law.age + days[here, None]) * share[here, None]
        mean = (law.weight * gathered).sum(axis=1)
        place = 2 * numbers[here] + (np.abs(doubt - 1.0) > 1e-9).any(axis=1)
        np.add.at(sums[0], place, doubt * gathered)
        np.add.at(sums[1], place, doubt * mean[:, None])
        np.add.at(counted, place, mean)
    doubted = levelled(sums[0][1::2, None], sums[1][1::2], counted[1::2], weight)[:, 0]
    machines = np.bincount(numbers, share, minlength=len(models)).astype(float)
    # No draw, however short its lives, makes more fail than there are.
    mean = np.minimum(sums[0][0::2] + doubted, machines[:, None])
    return _counts(models.to_list(), mean, machines, weight, level)


def _counts(
    models: list[str], mean: Floats, machines: Floats, weight: Floats, level: float
) -> pl.DataFrame:
    from fleet.decisions.expected_failures import meet

    every, even = meet(mean[:, None, :], weight)
    mean = np.concatenate([every[None, 0], mean])
    weight = np.concatenate([even, weight])
    low, high = count_limits(mean, np.zeros_like(mean), weight, level)
    most = np.ceil(np.concatenate([[machines.sum()], machines]) - 1e-9)
    return pl.DataFrame(
        {
            "model": [None, *models],
            "expected": (weight * mean).sum(axis=1),
            "low": np.minimum(low, most),
            "high": np.minimum(high, most),
        },
        schema=COUNTS,
    )
