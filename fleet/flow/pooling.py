"""Why lives were or were not taken together, model by model. METHODS: pooling."""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.ages import DAYS_PER_YEAR, days_expr, middle_expr
from fleet.flow.identifiable import set_apart
from fleet.flow.kept import fingerprint, keeping, kept, part
from fleet.flow.pooling_words import pooling_sentence
from fleet.flow.table import Answer, Table

MOST_MODELS = 30  # looked at; those with most failures come first
_SURE_BUILD_YEARS = 5.0  # wider ranges of build dates tell no build year
_EPOCH_YEAR = 1970.0
_APART, _TOGETHER, _UNTESTED = "keep apart", "take together", "not tested"
UNLIKELY = 0.05


def pooling(
    table: Table,
    store: Path,
    *,
    as_of: date,
    models: Sequence[str] | None = None,
    questions: Sequence[str] | None = None,
) -> Answer:
    """For each model and question, whether its lives may be taken together, and why.

    Columns: model, question (build_year, batches, revisions, parts, positions, mixture), groups,
    lives, failures, statistic, degrees_of_freedom, p_value, p_corrected, judged_by, effect,
    reason (of fits.pooling.POOLING), answer (keep apart, take together, not tested), sentence.
    Original and replaced parts are kept apart whatever the test says. A difference counts where
    its chance, corrected for all looks of the call, is at most 0.05. At most 30 models, those
    with most failures, unless `models` names them.
    """
    asked = (store, as_of, tuple(models or ()), tuple(questions or ()))
    return kept(
        "pooling",
        (table,),
        asked,
        lambda: _pooling(table, store, as_of=as_of, models=models, questions=questions),
    )


def _pooling(
    table: Table,
    store: Path,
    *,
    as_of: date,
    models: Sequence[str] | None,
    questions: Sequence[str] | None,
) -> Answer:
    from fleet.fits.pooling import QUESTIONS, pooling_tests

    def again(
        own: pl.DataFrame, told: tuple[object, ...], work: Callable[[], list[dict[str, Any]]]
    ) -> list[dict[str, Any]]:
        return part("pooled", (fingerprint(own), told), work)

    lives, _ = set_apart(table.lives, table, ("model",))
    lives = lives.filter(pl.col("high").is_not_null() | (pl.col("low") > pl.col("entry")))
    chosen, more = _chosen(lives, models)
    known = with_origin(lives.filter(pl.col("model").is_in(chosen)), store, as_of=as_of)
    frame = pooling_tests(
        known, questions=questions or QUESTIONS, again=again if keeping() else None
    )
    looks = frame.filter(~pl.col("question").is_in(["parts", "batches"]))["p_value"].count()
    judged = frame.with_columns(
        answer=pl.when(pl.col("question") == "parts")
        .then(pl.lit(_APART))
        .when(pl.col("p_value").is_null())
        .then(pl.lit(_UNTESTED))
        .when(pl.col("p_corrected") <= UNLIKELY)
        .then(pl.lit(_APART))
        .otherwise(pl.lit(_TOGETHER))
    )
    sentences = [pooling_sentence(row, looks=looks) for row in judged.iter_rows(named=True)]
    notes = (f"{more} more models, with fewer failures, were not looked at",) if more else ()
    return Answer(
        frame=judged.with_columns(pl.Series("sentence", sentences, dtype=pl.String)), notes=notes
    )


def pooling_notes(answer: Answer) -> tuple[str, ...]:
    """What to say beside a fit: differences found, and one sentence on all that showed none."""
    frame = answer.frame.filter(pl.col("question") != "parts")
    found = frame.filter(pl.col("answer") == _APART)["sentence"].to_list()
    quiet = frame.filter(pl.col("answer") == _TOGETHER).group_by(
        "question", maintain_order=True
    ).agg("model")  # fmt: skip
    said = []
    for question, models in quiet.iter_rows():
        said.append(f"{_NAMES[question]} ({', '.join(models)})")
    together = (f"Nothing speaks against taking together: {'; '.join(said)}",) if said else ()
    return (*found, *together)


_NAMES = {
    "build_year": "build years",
    "batches": "batches",
    "revisions": "revisions",
    "positions": "failures at different positions",
    "mixture": "all lives as of one kind",
}


def _chosen(lives: pl.DataFrame, models: Sequence[str] | None) -> tuple[list[str], int]:
    if models is not None:
        return list(models), 0
    failed = pl.col("count").filter(pl.col("high").is_not_null()).sum().alias("failures")
    order = (
        lives.group_by("model").agg(failed).sort(["failures", "model"], descending=[True, False])
    )
    return order["model"].head(MOST_MODELS).to_list(), max(0, order.height - MOST_MODELS)


def with_origin(lives: pl.DataFrame, store: Path, *, as_of: date) -> pl.DataFrame:
    """Lives with `built` (year of making, null where it is known to no better than five years),
    `revision` (where the build date falls into the years of just one) and `position` (of the
    failure, where its report names one).
    """
    from fleet.flow.known import known_records

    records = known_records(store, ("units", "models", "reports"), as_of=as_of)
    early, late = pl.col("manufactured_earliest"), pl.col("manufactured_latest")
    units = (
        records["units"]
        .unique("unit", keep="first", maintain_order=True)
        .select(
            "unit",
            "model",
            early=early,
            late=late,
            built=pl.when(days_expr(early, late) <= _SURE_BUILD_YEARS * DAYS_PER_YEAR).then(
                middle_expr(early, late).cast(pl.Int32) / DAYS_PER_YEAR + _EPOCH_YEAR
            ),
        )
    )
    units = units.join(_revisions(units, records["models"]), on="unit", how="left")
    return (
        lives.drop("position")
        .join(
            units.select("unit", "built", "revision"), on="unit", how="left", maintain_order="left"
        )
        .with_row_index("_row")
        .join(_positions(lives, records["reports"]), on="_row", how="left", maintain_order="left")
        .drop("_row")
    )


def _revisions(units: pl.DataFrame, models: pl.DataFrame) -> pl.DataFrame:
    """unit, revision: of models with several revisions, the only one made when the unit was."""
    named = models.filter(pl.col("revision").is_not_null()).select(
        "model", "revision", begun="first_made_earliest", ended="last_made_latest"
    )
    fits = (
        units.join(named, on="model")
        .filter(
            pl.col("early").is_not_null() & pl.col("late").is_not_null(),
            pl.col("begun").is_not_null() | pl.col("ended").is_not_null(),
            (pl.col("late") >= pl.col("begun")).fill_null(value=True),
            (pl.col("early") <= pl.col("ended")).fill_null(value=True),
        )
        .group_by("unit")
        .agg(pl.col("revision").unique())
    )
    return fits.filter(pl.col("revision").list.len() == 1).select(
        "unit", pl.col("revision").list.first()
    )


def _positions(lives: pl.DataFrame, reports: pl.DataFrame) -> pl.DataFrame:
    """_row, position: of failed rows whose failure was reported at one named position."""
    named = reports.filter(
        (pl.col("kind") == "failed")
        & pl.col("positions").is_not_null()
        & ~pl.col("positions").str.contains(";", literal=True)
        & (pl.col("positions").str.strip_chars().str.to_lowercase() != "all")
    ).select(record="record", position=pl.col("positions").str.strip_chars())
    told = (
        lives.with_row_index("_row")
        .filter(pl.col("high").is_not_null())
        .select("_row", record=pl.col("reports").str.split(";"))
        .explode("record")
        .join(named, on="record")
        .group_by("_row")
        .agg(pl.col("position").unique())
    )
    one = told.filter(pl.col("position").list.len() == 1)
    return one.select(pl.col("_row"), pl.col("position").list.first())
