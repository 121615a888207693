"""Estimators: from records to each unit's chance and replacement age.

An estimator is a function of records (known frames of many models at once) and the as-of date to
a frame: unit, p_fail, p_fail_low, p_fail_high (within two years, 90 % limits; null: no answer),
optimal_age (days from the beginning of the present set; null: never, run to failure). It may read
everything in the records and nothing else.
"""

from collections.abc import Callable, Mapping
from datetime import date

import numpy as np
import polars as pl

from fleet.decisions import age_replacement_weibull, due_list
from fleet.flow.due import costs_of, estimates_for
from fleet.flow.due_by_posterior import Asked, due_by_posterior
from fleet.flow.table import Table
from fleet.lives import build_lives

Records = Mapping[str, pl.DataFrame]
Estimator = Callable[[Records, date], pl.DataFrame]

ANSWER = ("unit", "p_fail", "p_fail_low", "p_fail_high", "optimal_age")
_TEN_YEARS = 3652.5
_LEVEL = 0.90


def run_to_failure(records: Records, as_of: date) -> pl.DataFrame:
    """Never replace in advance."""
    return _answer(records["units"].select("unit"))


def fixed_ten_years(records: Records, as_of: date) -> pl.DataFrame:
    """Replace at ten years, whatever is known."""
    return _answer(records["units"].select("unit", optimal_age=pl.lit(_TEN_YEARS)))


def dead_only_average(records: Records, as_of: date) -> pl.DataFrame:
    """Replace at the average age of the model's dead: what a list of repairs alone suggests."""
    dead = _dead(records, as_of).group_by("model").agg(optimal_age=pl.col("age").mean())
    return _answer(_units(records).join(dead, on="model", how="left"))


def dead_only_weibull(records: Records, as_of: date) -> pl.DataFrame:
    """Best age of a Weibull through the dead alone, by the mean and spread of log age: shape
    pi / (sd sqrt 6), log scale mean + 0.5772 / shape. Needs two dead of different age.
    """
    log = pl.col("age").log()
    fits = (
        _dead(records, as_of)
        .group_by("model")
        .agg(mean=log.mean(), sd=log.std())
        .filter(pl.col("sd") > 0.0)
        .join(_costs(records), on="model")
    )
    shape = np.pi / (np.sqrt(6.0) * fits["sd"].to_numpy())
    scale = np.exp(fits["mean"].to_numpy() + np.euler_gamma / shape)
    best = age_replacement_weibull(
        shape, scale, fits["planned_cost"].to_numpy(), fits["failure_cost"].to_numpy()
    )
    ages = fits.select("model", optimal_age=pl.Series(best.age))
    joined = _units(records).join(ages, on="model", how="left")
    finite = pl.col("optimal_age").is_finite()
    return _answer(joined.with_columns(pl.when(finite).then("optimal_age").alias("optimal_age")))


def likelihood_by_model(records: Records, as_of: date) -> pl.DataFrame:
    """Maximum likelihood for each model, its batches pooled, with limits by its profile."""
    return _by_likelihood(records, as_of, pl.col("batch").is_null(), least=np.inf)


def likelihood_by_batch(records: Records, as_of: date) -> pl.DataFrame:
    """Maximum likelihood for each batch; its model's where the batch has no estimate."""
    return _by_likelihood(records, as_of, pl.lit(value=True), least=0.0)


def advice_by_likelihood(records: Records, as_of: date) -> pl.DataFrame:
    """What the due list says by maximum likelihood: a batch's own fit from five failures on."""
    return _by_likelihood(records, as_of, pl.lit(value=True), least=5.0)


def advice_by_posterior(records: Records, as_of: date) -> pl.DataFrame:
    """What the due list says: by the posterior."""
    table = table_of(records, as_of)
    costs = costs_of(records["models"], table.working, planned_cost=None, failure_cost=None)
    asked = Asked(as_of=as_of, new_parts="same", level=_LEVEL)
    return _answer(due_by_posterior(table, records, costs, asked, words=False)[0])


POLICIES: dict[str, Estimator] = {
    "run to failure": run_to_failure,
    "fixed ten years": fixed_ten_years,
    "average age of the dead": dead_only_average,
    "Weibull of the dead": dead_only_weibull,
    "likelihood by model": likelihood_by_model,
    "likelihood by batch": likelihood_by_batch,
    "due list by likelihood": advice_by_likelihood,
    "due list by posterior": advice_by_posterior,
}


def table_of(records: Records, as_of: date) -> Table:
    """The life table of records as the commands build it."""
    built = build_lives(records, as_of=as_of)
    dated = records["sources"].filter(pl.col("collecting_since").is_not_null())
    seen = built.lives["source"].drop_nulls().unique().to_list()
    return Table(
        lives=built.lives,
        working=built.working,
        left_out=built.left_out,
        shares=built.shares,
        notes=built.notes,
        open_sources=frozenset(seen) - frozenset(dated["source"].to_list()),
        from_store=True,
        age_unit="days",
    )


def _by_likelihood(records: Records, as_of: date, wanted: pl.Expr, *, least: float) -> pl.DataFrame:
    table = table_of(records, as_of)
    estimates, regions, _ = estimates_for(table, level=_LEVEL)
    due = due_list(
        table.working,
        estimates.filter(wanted),
        regions.filter(wanted),
        costs_of(records["models"], table.working, planned_cost=None, failure_cost=None),
        as_of=as_of,
        new_parts="same",
        min_batch_failures=least,
    )
    return _answer(due)


def _dead(records: Records, as_of: date) -> pl.DataFrame:
    """model, age of every failure told that may be the capacitors', by the day it was told."""
    units = records["units"].select(
        "unit", "model", built=pl.col("manufactured_earliest").cast(pl.Int32),
        built_by=pl.col("manufactured_latest").cast(pl.Int32),
    )  # fmt: skip
    failed = (pl.col("kind") == "failed") & (pl.col("cause").fill_null("") != "other")
    told = records["reports"].filter(failed & (pl.col("date_latest") <= as_of))
    middle = (pl.col("built") + pl.col("built_by")) / 2.0
    age = pl.col("date_latest").cast(pl.Int32) - middle
    return told.join(units, on="unit").select("model", age=age).filter(pl.col("age") > 0.0)


def _units(records: Records) -> pl.DataFrame:
    return records["units"].select("unit", "model")


def _costs(records: Records) -> pl.DataFrame:
    return records["models"].select("model", "planned_cost", "failure_cost")


def _answer(frame: pl.DataFrame) -> pl.DataFrame:
    """The columns of an answer; what is missing is null."""
    return frame.select(
        "unit",
        *(
            (pl.col(c) if c in frame.columns else pl.lit(None)).cast(pl.Float64).alias(c)
            for c in ANSWER[1:]
        ),
    )
