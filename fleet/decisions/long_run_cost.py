"""What an advised replacement age saves in the long run against running to failure."""

import numpy as np
import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.decisions.costs import check_costs
from fleet.decisions.replace_age import age_replacement_weibull
from fleet.decisions.weibull_life import mean_life
from fleet.frames import ESTIMATES, check_frame


def long_run_cost(estimates: pl.DataFrame, costs: pl.DataFrame) -> pl.DataFrame:
    """Long-run cost of each estimate's life, run to failure and under classic age replacement.

    `estimates` frames.ESTIMATES (ages in days), `costs` columns model, planned_cost,
    failure_cost. Columns: model, batch, parts, optimal_age (days; null: never),
    run_to_failure and advised (cost per unit and year), saving_share (0 to 1). Null where the
    estimate does not exist or a cost is unknown.
    """
    check_frame(estimates, ESTIMATES, name="estimates")
    frame = estimates.join(check_costs(costs), on="model", how="left", maintain_order="left")
    known = (
        frame["exists"].fill_null(False)
        & frame.select(
            pl.all_horizontal(
                pl.col("shape", "scale", "planned_cost", "failure_cost").is_not_null()
            )
        ).to_series()
    )
    has = known.to_numpy()
    shape, scale, planned, failure = (
        frame.filter(known)[c].to_numpy()
        for c in ("shape", "scale", "planned_cost", "failure_cost")
    )
    best = age_replacement_weibull(shape, scale, planned, failure)
    failing = failure / mean_life(shape, scale)
    out = {n: np.full(frame.height, np.nan) for n in _COLUMNS}
    out["optimal_age"][has] = np.where(np.isfinite(best.age), best.age, np.nan)
    out["run_to_failure"][has] = failing * DAYS_PER_YEAR
    out["advised"][has] = best.rate * DAYS_PER_YEAR
    out["saving_share"][has] = 1.0 - best.rate / failing
    return frame.select("model", "batch", "parts").hstack(pl.DataFrame(out).fill_nan(None))


_COLUMNS = ("optimal_age", "run_to_failure", "advised", "saving_share")
