"""What every day costs once the present parts are gone: the long-run rate of those that go in.

METHODS: new-parts, best-age-by-draws
"""

import numpy as np
import polars as pl

from fleet.decisions.best_ages_by_draws import long_run_rate
from fleet.decisions.drawn_lives import DrawnLives
from fleet.decisions.weibull_life import Floats
from fleet.errors import BadFrame, BadInput


def check_new_lives(new_lives: pl.DataFrame | None) -> pl.DataFrame:
    """Columns unit and new_life (days), empty for None.

    Raises BadFrame where a column is missing or a unit has two lives, BadInput for a life that is
    no number above zero.
    """
    if new_lives is None:
        return pl.DataFrame(schema={"unit": pl.String, "new_life": pl.Float64})
    if missing := {"unit", "new_life"} - set(new_lives.columns):
        raise BadFrame(f"lives of new parts lack {', '.join(sorted(missing))}; give both columns")
    lives = new_lives.select("unit", pl.col("new_life").cast(pl.Float64))
    if lives["unit"].is_duplicated().any():
        raise BadFrame("lives of new parts name a unit twice; give each unit one life")
    wrong = ~(pl.col("new_life").is_finite() & (pl.col("new_life") > 0.0))
    for unit, life in lives.filter(wrong).iter_rows():
        raise BadInput(
            f"the life of the new parts of {unit} is {life:g} days; give a number above zero"
        )
    return lives


def rates_to_come(units: pl.DataFrame, cells: pl.DataFrame, lives: DrawnLives) -> Floats:
    """Lowest expected long-run cost a day of what will go into each unit; NaN without costs.

    `units` has model, parts, planned_cost, failure_cost and new_life. The parts to come are a
    batch nobody knows yet, of the same kind of parts; original parts of a model whose replaced
    parts have no failures stand for its next parts. Where new_life is known, lives are Weibull
    with that scale and the shapes those parts are drawn with.
    """
    table = cells.filter("to_come").select("model", "parts", typical="cell")
    own = pl.when(pl.col("parts") == "original").then(pl.lit("original"))
    wanted = units.select(
        "model",
        "planned_cost",
        "failure_cost",
        "new_life",
        parts=own.otherwise(pl.lit("replaced")),
    )
    place = wanted.join(table, on=["model", "parts"], how="left", maintain_order="left")
    like = ["typical", "planned_cost", "failure_cost", "new_life"]
    first = place.with_row_index("row").select(pl.col("row").first().over(like))["row"].to_numpy()
    rows, which = np.unique(first, return_inverse=True)
    cell = place["typical"].to_numpy()[rows]
    planned, failure, given = (
        np.array(place[name].cast(pl.Float64).fill_null(np.nan).to_numpy())[rows]
        for name in ("planned_cost", "failure_cost", "new_life")
    )
    known = ~np.isnan(given)[:, None]
    log_scale = np.where(known, np.log(given)[:, None], lives.log_scale[cell])
    rate = long_run_rate(lives.shape[cell], log_scale, lives.weight[cell], planned, failure)
    return np.asarray(rate[which])
