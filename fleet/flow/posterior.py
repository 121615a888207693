"""From a life table and the records behind it to the posterior the due list rests on.

METHODS: silence, unknown-cause, posterior
"""

from collections.abc import Callable, Hashable, Mapping
from datetime import date
from pathlib import Path
from typing import TypeVar

import polars as pl

from fleet.ages import DAYS_PER_YEAR, days_expr
from fleet.fits import Posterior, Prior, weibull_posterior
from fleet.flow.identifiable import set_apart
from fleet.flow.kept import fingerprint, keeping, kept, part
from fleet.flow.table import Settings, Table
from fleet.frames import EVIDENCE

T = TypeVar("T")

_READ = ("units", "models", "reports")
_NO_SHARE = 0.5  # (1 + in use) / (2 + all) with no failure seen


def posterior_of(
    table: Table,
    records: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    prior: Prior | None = None,
) -> Posterior:
    """The posterior of every model in a table built from a store, ages in days.

    `records` are the known frames of units, models and reports the table was built from.
    """

    def work() -> Posterior:
        evidence = evidence_for(table, records, as_of=as_of)
        return weigh_evidence(evidence, prior=prior)

    return kept("posterior", (table, *(records.get(kind) for kind in _READ)), (as_of, prior), work)


def weigh_evidence(evidence: pl.DataFrame, *, prior: Prior | None = None) -> Posterior:
    """The posterior of evidence in days; models whose evidence is as it was are not weighed anew
    while answers are kept.
    """
    return weibull_posterior(
        evidence,
        year=DAYS_PER_YEAR,
        prior=prior,
        again=_again if keeping() else None,
    )


def _again(lives: pl.DataFrame, asked: Hashable, fit: Callable[[], T]) -> T:
    return part("model", (fingerprint(lives), asked), fit)


def draws_for(
    store: Path, *, as_of: date, settings: Settings | None = None, prior: Prior | None = None
) -> pl.DataFrame:
    """Draws of the posterior of a store, named: model, parts, batch (null: a batch nobody knows)
    and frames.DRAWS without the number of the cell.
    """
    from fleet.flow.answers import READ, table_of
    from fleet.flow.known import known_records

    records = known_records(store, READ, as_of=as_of)
    table = table_of(records, as_of=as_of, settings=settings)
    return posterior_of(table, records, as_of=as_of, prior=prior).named()


def evidence_for(table: Table, records: Mapping[str, pl.DataFrame], *, as_of: date) -> pl.DataFrame:
    """Lives of whole sets as the posterior reads them (frames.EVIDENCE, ages in days).

    Working units are credited with silence, failures of unknown cause are one row with both
    causes in it, and heat and use come from the units. The life table itself stays as it is.
    """
    listed = pl.col("batch").str.contains(":", literal=True)  # positions of different batches
    whole = table.lives.filter(pl.col("parts") != "partial").with_columns(
        parts=two_parts(), batch=pl.when(~listed).then("batch")
    )
    whole, _ = set_apart(whole, table, ("model", "parts"))
    facts = records["units"].select("unit", "ambient_c", "hours_per_year")
    kinds = records["models"].group_by("model").agg(pl.col("kind").drop_nulls().first())
    lives = (
        _credit_silence(whole, table, records, as_of=as_of)
        .join(facts, on="unit", how="left", maintain_order="left")
        .join(kinds, on="model", how="left", maintain_order="left")
    )
    sources = list(table.open_sources)
    forgetful = pl.col("source").is_null() | pl.col("source").is_in(sources)
    return (
        _both_causes(lives, table)
        .with_columns(forgetful=forgetful & pl.col("known_by").is_not_null())
        .select(EVIDENCE.names())
        .cast(EVIDENCE)
    )


def two_parts() -> pl.Expr:
    """Original or replaced: what a set's life is taken to be like."""
    original = pl.col("parts") == "original"
    return pl.when(original).then(pl.lit("original")).otherwise(pl.lit("replaced"))


def prompt_shares(lives: pl.DataFrame) -> pl.DataFrame:
    """Per model, the share of failures of units enrolled working that were noticed in use rather
    than found at a check: (1 + in use) / (2 + all). Columns: model, prompt_share.
    """
    in_use = (pl.col("noticed") == "in_use").cast(pl.Float64) * pl.col("count")
    every = pl.col("noticed").is_not_null().cast(pl.Float64) * pl.col("count")
    return lives.group_by("model").agg(
        ((1.0 + in_use.sum()) / (2.0 + every.sum())).alias("prompt_share")
    )


def check_in_gaps(records: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Per model, the median days between successive sights of a unit working: model, gap.

    Enrolment of a working unit is a sight of it.
    """
    units = records["units"]
    seen = (
        records["reports"]
        .filter(pl.col("kind") == "working")
        .select("unit", day=pl.coalesce("date_earliest", "date_latest"))
    )
    joined = units.filter(pl.col("enrolled_because").fill_null("working") == "working").select(
        "unit", day=pl.coalesce("enrolled_on_earliest", "enrolled_on_latest")
    )
    return (
        pl.concat([seen, joined])
        .drop_nulls()
        .unique()
        .sort("unit", "day")
        .with_columns(gap=pl.col("day").diff().dt.total_days().over("unit").cast(pl.Float64))
        .drop_nulls("gap")
        .join(units.select("unit", "model"), on="unit")
        .group_by("model")
        .agg(pl.col("gap").median())
    )


def _credit_silence(
    lives: pl.DataFrame, table: Table, records: Mapping[str, pl.DataFrame], *, as_of: date
) -> pl.DataFrame:
    """Working sets watched somewhat longer than they were seen: failures announce themselves.

    A share s of failures is told when it happens, so a unit not heard of since its last report
    has lived s times that silence, of which no more than the usual gap between reports counts.
    """
    now = table.working.select(
        "unit", "set_no", age_now=days_expr(pl.col("started"), pl.lit(as_of))
    )
    silence = (pl.col("age_now") - pl.col("low")).clip(0.0, pl.col("gap").fill_null(0.0))
    working = (pl.col("end") == "working") & pl.col("high").is_null()
    credited = pl.col("low") + pl.col("prompt_share").fill_null(_NO_SHARE) * silence
    return (
        lives.join(now, on=["unit", "set_no"], how="left", maintain_order="left")
        .join(check_in_gaps(records), on="model", how="left", maintain_order="left")
        .join(prompt_shares(lives), on="model", how="left", maintain_order="left")
        .with_columns(low=pl.when(working & silence.is_not_null()).then(credited).otherwise("low"))
        .drop("age_now", "gap", "prompt_share")
    )


def _both_causes(lives: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Failures of unknown cause as one row of count 1 with both causes in it.

    The life table splits such a life by count into one that failed and one watched to its end.
    Here those two become one row: failed by the capacitors, or by something else at the same
    place and watched to that end. The rate of other causes is that of the model's known causes
    beside its failures under watch. What was split further keeps its counts.
    """
    key = ["unit", "set_no"]
    split = (pl.col("count") < 1.0) & pl.col("known_by").is_null()
    failed = pl.col("high").is_not_null()
    rows = lives.with_row_index("_row")
    shared = rows.filter(split)
    pairs = shared.group_by(key).agg(
        pl.len().alias("_len"),
        pl.col("_row").filter(failed).first().alias("_failed"),
        pl.col("_row").filter(~failed).first().alias("_lived"),
        pl.col("low").filter(~failed).first().alias("other_low"),
    )
    sound = pairs.filter(
        (pl.col("_len") == 2) & pl.col("_failed").is_not_null() & pl.col("_lived").is_not_null()
    )
    width = (pl.col("high") - pl.col("low")).clip(lower_bound=0.0)
    exact = pl.col("high") == pl.col("low")
    chance = 1.0 - (-pl.col("other_rate") * width).exp()
    return (
        rows.join(sound.select(_row="_lived"), on="_row", how="anti", maintain_order="left")
        .join(
            sound.select(_row="_failed", other_low="other_low"),
            on="_row", how="left", maintain_order="left",
        )
        .join(other_rates(lives, table), on="model", how="left", maintain_order="left")
        .with_columns(
            count=pl.when(pl.col("other_low").is_not_null()).then(1.0).otherwise("count"),
            other_low=pl.max_horizontal(
                "other_low", pl.when(pl.col("other_low").is_not_null()).then("low")
            ),
            other_chance=pl.when(exact).then("other_rate").otherwise(chance),
        )
    )  # fmt: skip


def other_rates(lives: pl.DataFrame, table: Table) -> pl.DataFrame:
    """Per model, failures of other causes a day under watch: model, other_rate.

    The capacitors' rate under watch times what other causes are to them among known causes.
    """
    watched = pl.col("known_by").is_null()
    failed = pl.col("high").is_not_null() & watched
    days = ((pl.col("low") - pl.col("entry")) * pl.col("count")).filter(watched).sum()
    rate = ((pl.col("count").filter(failed).sum()) + 0.5) / pl.max_horizontal(days, 1.0)
    odds = (pl.col("other") + 0.5) / (pl.col("capacitor") + 0.5)
    return (
        lives.group_by("model")
        .agg(rate.alias("other_rate"))
        .join(table.shares.select("model", odds.alias("odds")), on="model", how="left")
        .select("model", pl.col("other_rate") * pl.col("odds").fill_null(1.0))
    )
