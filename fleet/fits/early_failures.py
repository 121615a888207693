"""Failures soon after a job beside those that fresh parts would have had anyway.

METHODS: early-failures
"""

import numpy as np
import polars as pl

from fleet.errors import BadFrame
from fleet.fits.rows import Floats
from fleet.frames import check_frame

# What `early_failures` reads: a row a job with new parts throughout.
WATCHED = pl.Schema(
    {
        "model": pl.String(),
        "watched": pl.Float64(),  # from the job to the end of the early days, or of the watch
        "failed": pl.Boolean(),  # within that
    }
)
# Lives of fresh parts of each model as draws of its posterior: any number a model.
FRESH = pl.Schema(
    {
        "model": pl.String(),
        "weight": pl.Float64(),
        "shape": pl.Float64(),
        "scale": pl.Float64(),  # in the unit of `watched`
        "other_rate": pl.Float64(),  # failures of other causes in one of that unit
    }
)


def early_failures(watched: pl.DataFrame, fresh: pl.DataFrame) -> pl.DataFrame:
    """For each model with a job watched: how many failed early, and how many would have by luck.

    Returns model, watched_jobs, failed, expected (sum of the chances
    1 - exp(-(w / scale)^shape - other_rate w) after a job that did no harm, averaged over draws),
    chance (of as many failures or more by luck alone: the number is Poisson-binomial under each
    draw, as the jobs' chances differ). Models without draws have null expected and chance. Raises
    BadFrame.
    """
    check_frame(watched, WATCHED, name="jobs")
    check_frame(fresh, FRESH, name="fresh parts")
    if watched.filter(pl.col("watched") < 0).height:
        raise BadFrame("a job was watched for less than no time; correct its dates")
    laws = {str(key[0]): own for key, own in fresh.group_by("model")}
    seen = watched.filter((pl.col("watched") > 0) | pl.col("failed"))
    rows = [
        (model, own.height, int(own["failed"].sum()), *_by_luck(own, laws.get(str(model))))
        for (model,), own in seen.sort("model").group_by("model", maintain_order=True)
    ]
    schema = {"model": pl.String, "watched_jobs": pl.Int64, "failed": pl.Int64,
              "expected": pl.Float64, "chance": pl.Float64}  # fmt: skip
    return pl.DataFrame(rows, schema=schema, orient="row")


def _by_luck(jobs: pl.DataFrame, law: pl.DataFrame | None) -> tuple[float | None, float | None]:
    if law is None:
        return None, None
    weight, shape, scale, other = (law[c].to_numpy()[:, None] for c in list(FRESH)[1:])
    weight = weight[:, 0] / weight.sum()
    age = jobs["watched"].to_numpy()
    chances = -np.expm1(-((age / scale) ** shape) - other * age)
    expected = float(weight @ chances.sum(axis=1))
    return expected, float(weight @ at_least(chances, int(jobs["failed"].sum())))


def at_least(chances: Floats, number: int) -> Floats:
    """Chance that at least `number` of independent events happen, one row of chances each.

    Sums the law of the count event by event, as far as `number` (Poisson-binomial).
    """
    fewer = np.zeros((chances.shape[0], number + 1))
    fewer[:, 0] = 1.0
    for column in chances.T:
        p = column[:, None]
        kept = fewer[:, :number]
        moved = np.concatenate([np.zeros_like(p), kept[:, :-1]], axis=1) if number else kept
        # What reaches `number` stays there.
        full = fewer[:, number] + (kept[:, -1] * column if number else 0.0)
        fewer[:, :number] = kept * (1.0 - p) + moved * p
        fewer[:, number] = full
    out: Floats = fewer[:, number]
    return out
