"""Failures soon after a job beside what fresh parts do by themselves. METHODS: early-failures."""

from collections.abc import Mapping
from datetime import date

import polars as pl

from fleet.ages import days
from fleet.fits.posterior import ENOUGH
from fleet.flow.answers import table_of
from fleet.flow.posterior import evidence_for, other_rates, weigh_evidence


def early_beside_luck(
    records: Mapping[str, pl.DataFrame],
    jobs: pl.DataFrame,
    *,
    as_of: date,
    early_months: float,
    model: str | None = None,
) -> pl.DataFrame:
    """Per model, of recaps of all positions: model, early_watched, early_failed, early_expected,
    early_chance (fits.early_failures); of one `model` alone where it is given.

    `jobs`: lives.recaps.RECAPS with `counted`. What fresh parts do is the posterior's life of
    parts yet to be made, learned from what happened to replaced sets after the early days only:
    a failure that the job brought about must not teach that such failures are usual. Failures of
    other causes come at the model's rate.
    """
    from fleet.fits.early_failures import FRESH, WATCHED, early_failures

    window = days(early_months / 12.0)
    own = jobs.filter(pl.col("counted") & pl.col("whole"))
    if model is not None:
        own = own.filter(pl.col("model") == model)
    watched = own.select(
        "model",
        watched=pl.min_horizontal("watched", pl.lit(window)),
        failed="failed_early",
    ).cast(WATCHED)
    fresh = _fresh(records, own["model"].unique().to_list(), as_of=as_of, window=window)
    found = early_failures(watched, fresh.select(FRESH.names()).cast(FRESH))
    return found.rename(
        {
            "watched_jobs": "early_watched",
            "failed": "early_failed",
            "expected": "early_expected",
            "chance": "early_chance",
        }
    )


def _fresh(
    records: Mapping[str, pl.DataFrame], models: list[str], *, as_of: date, window: float
) -> pl.DataFrame:
    """Draws of the life of parts yet to be made of each model, scales in days."""
    from fleet.fits.early_failures import FRESH
    from fleet.frames import empty_frame

    table = table_of(records, as_of=as_of)
    evidence = later_than(evidence_for(table, records, as_of=as_of), window)
    if evidence.is_empty() or not models:
        return empty_frame(FRESH)
    posterior = weigh_evidence(evidence.filter(pl.col("model").is_in(_leaned_on(evidence, models))))
    rates = other_rates(table.lives, table)
    to_come = posterior.cells.filter("to_come").sort("model", "parts", descending=[False, True])
    # Of a model replaced parts come before original ones, where it has both.
    cells = to_come.unique("model", keep="first", maintain_order=True).select("cell", "model")
    draws = posterior.draws.join(cells.filter(pl.col("model").is_in(models)), on="cell")
    return draws.join(rates, on="model", how="left").with_columns(pl.col("other_rate").fill_null(0))


def _leaned_on(evidence: pl.DataFrame, models: list[str]) -> list[str]:
    """The models and those that the posterior lets them borrow from: of their kinds, where one has
    few failures. What the others are does not change a draw of theirs.
    """
    failed = pl.col("count").filter(pl.col("high").is_not_null()).sum()
    found = evidence.group_by("model").agg(pl.col("kind").first(), failed=failed)
    mine = pl.col("model").is_in(models)
    poor = found.filter(mine & (pl.col("failed") < ENOUGH))["kind"].drop_nulls().unique()
    return found.filter(mine | pl.col("kind").is_in(poor.implode()))["model"].to_list()


def later_than(evidence: pl.DataFrame, window: float) -> pl.DataFrame:
    """Evidence (frames.EVIDENCE) in which replaced sets are watched only from age `window` on.

    What ended before is left out, whether it failed or not; nothing else changes, so that the law
    of ages beyond is learned without bias.
    """
    replaced = pl.col("parts") == "replaced"
    last = pl.coalesce("high", "low")
    kept = evidence.filter(~replaced | (last > window))
    return kept.with_columns(
        entry=pl.when(replaced).then(pl.max_horizontal("entry", pl.lit(window))).otherwise("entry"),
        low=pl.when(replaced).then(pl.max_horizontal("low", pl.lit(window))).otherwise("low"),
        other_low=pl.when(replaced & pl.col("other_low").is_not_null())
        .then(pl.max_horizontal("other_low", pl.lit(window)))
        .otherwise("other_low"),
    )
