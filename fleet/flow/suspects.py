"""Batch or design? Batches and models beside what is typical of them, judged and in words."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.suspects_across import batches_across
from fleet.flow.suspects_comparable import nothing_to_compare
from fleet.flow.suspects_dates import dated_from
from fleet.flow.suspects_judge import LONGER, SHORTER, judge_batches, judge_model, rank_batches
from fleet.flow.suspects_pattern import add_patterns
from fleet.flow.suspects_plain import PlainAnswer, plain_answer
from fleet.flow.suspects_positions import positions_for, shares_by_position
from fleet.flow.suspects_words import (
    batch_words,
    model_words,
    overall_words,
    share_words,
    suspect_words,
)
from fleet.flow.table import Settings, Table
from fleet.frames import empty_frame

_S, _F = pl.String(), pl.Float64()
SUSPECTS = pl.Schema(
    {
        "level": _S,  # batch, model, position, batch across models
        "name": _S,
        "model": _S,  # null for a batch across models
        "parts": _S,  # original or replaced
        "lives": _F,
        "failures": _F,
        "effect": _F,  # times as long as a typical factory batch of its model, or of all models
        "effect_low": _F,
        "effect_high": _F,
        "verdict": _S,
        "reason": _S,  # the verdict in a sentence
        "p_shorter": _F,  # posterior chance that it lives shorter than typical
        "expected": _F,  # failures, did it live like the others
        "p_value": _F,  # of the test that it lives like the others, or that all are alike
        "p_adjusted": _F,  # the same for having looked at all
        "share": _F,  # models: share of the variation of life that lies between batches
        "share_low": _F,
        "share_high": _F,
        "shape": _F,
        "shape_low": _F,
        "shape_high": _F,
        "pattern": _S,  # how its failures lie in age and date
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Suspects:
    """`frame` (SUSPECTS, most suspect first within a level), `shares`
    (fits.suspects.shares.SHARES), `words` and the `notes` that must go with them.
    """

    frame: pl.DataFrame
    shares: pl.DataFrame
    words: tuple[str, ...]
    notes: tuple[str, ...]

    def of(self, parts: str) -> pl.DataFrame:
        """Rows on one kind of parts."""
        return self.frame.filter(pl.col("parts") == parts)

    def plain(self, parts: str) -> PlainAnswer:
        """The answer on one kind of parts without statistics."""
        rows = self.frame.filter((pl.col("parts") == parts) | pl.col("parts").is_null())
        return plain_answer(rows)

    def suspects_for(self, parts: str) -> tuple[str, ...]:
        """A sentence for each batch that lives shorter, or that there is none."""
        return suspect_words(self.of(parts))

    def shares_for(self, parts: str) -> tuple[str, ...]:
        """Where the variation of life lies, on one kind of parts."""
        return share_words(self.of(parts), self.shares.filter(parts=parts))


def sort_lives(table: Table) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Lives of whole sets, original and replaced kept apart in `parts`; `batch` is null where it
    is unknown or the set mixes batches. With sentences on what is left aside.
    """
    whole = table.lives.filter(pl.col("parts") != "partial")
    listed = pl.col("batch").str.contains(":", literal=True)
    replaced = pl.col("parts").str.starts_with("replaced")
    pooled = whole.with_columns(
        parts=pl.when(replaced).then(pl.lit("replaced")).otherwise(pl.lit("original")),
        batch=pl.when(~listed).then("batch"),
    )
    kept, apart = set_apart(pooled, table, ("model", "parts"))
    notes = list(what_failures_alone_tell(apart, ("model", "parts")))
    nameless = float(kept.filter(pl.col("batch").is_null())["count"].sum())
    if nameless >= 0.5:
        many = f"{nameless:,.0f}"
        notes.append(
            "1 life is of an unknown batch or of mixed ones: it counts for its model, and for no "
            "batch"
            if many == "1"
            else f"{many} lives are of unknown or mixed batches: they count for their model, and "
            "for no batch"
        )
    return kept, tuple(notes)


def suspects_of(
    table: Table,
    draws: pl.DataFrame,
    *,
    dated: pl.DataFrame | None = None,
    positions: pl.DataFrame | None = None,
    level: float = 0.90,
) -> Suspects:
    """Everything from lives and posterior draws (fits.suspects.draws.DRAWS).

    `dated`: failures with their days (suspects_dates); `positions`: rows of SUSPECTS for
    positions, made elsewhere. Ages in days. Raises BadFrame.
    """
    from fleet.fits.suspects.draws import shapes
    from fleet.fits.suspects.shares import shares_of_variation

    lives, notes = sort_lives(table)
    if lives.is_empty():
        return _nothing(notes)
    counts = lives.group_by("model", "parts", "batch").agg(pl.col("count").sum().alias("lives"))
    shares = shares_of_variation(draws, counts, level=level)
    if positions is not None:
        shares = pl.concat([shares, _position_shares(positions)])
    families, batches = _tested(lives)
    judged = _batch_rows(batches, families, draws, level)
    judged = add_patterns(judged, lives, dated)
    across = batches_across(judged, lives, draws, level=level)
    ages = shapes(draws, level=level)
    models = _model_rows(lives, families, judged, draws, shares, ages, level)
    judged = judged.with_columns(reason=_reasons(judged, batch_words))
    models = models.with_columns(reason=_reasons(models, model_words))
    parts = [_as_rows(f, name) for f, name in ((judged, "batch"), (models, "model"))]
    extra = [] if positions is None else [_as_rows(positions, "position")]
    frame = pl.concat([*parts, *extra, _as_rows(across, "batch across models")])
    return Suspects(frame=frame, shares=shares, words=overall_words(frame, shares), notes=notes)


def suspects(
    store: Path, *, as_of: date, level: float = 0.90, settings: Settings | None = None
) -> Suspects:
    """The same for a store as it was known on `as_of`."""
    from fleet.flow.answers import lives
    from fleet.flow.posterior import draws_for

    table = lives(store, as_of=as_of, settings=settings)
    kept, notes = sort_lives(table)
    if kept.is_empty():
        return _nothing(notes)
    positions, said = positions_for(store, as_of=as_of, level=level, settings=settings)
    nothing = nothing_to_compare(kept, positions)
    if nothing is not None:  # neither a posterior nor fleets to be drawn
        return _nothing((*notes, *said), nothing)
    dated = dated_from(kept, store, as_of=as_of)
    draws = draws_for(store, as_of=as_of, settings=settings)
    found = suspects_of(table, draws, dated=dated, positions=positions, level=level)
    return replace(found, notes=(*found.notes, *said))


def _position_shares(positions: pl.DataFrame) -> pl.DataFrame:
    from fleet.fits.suspects.shares import SHARES

    none = [pl.lit(None, pl.Float64).alias(name) for name in ("share_low", "share_high")]
    given = shares_by_position(positions).with_columns(
        pl.lit("position").alias("part_of_life"), *none
    )
    return given.select(SHARES.names())


def _nothing(notes: tuple[str, ...], *words: str) -> Suspects:
    from fleet.fits.suspects.shares import SHARES

    frame, shares = empty_frame(SUSPECTS), empty_frame(SHARES)
    return Suspects(frame=frame, shares=shares, words=words, notes=notes)


def _tested(lives: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    from fleet.fits.batch_or_design import lives_alike

    named = lives.filter(pl.col("batch").is_not_null())
    return lives_alike(named, ["model", "parts"], "batch")


def _batch_rows(
    batches: pl.DataFrame, families: pl.DataFrame, draws: pl.DataFrame, level: float
) -> pl.DataFrame:
    from fleet.fits.suspects.draws import batch_effects, beside_the_other, beside_the_rest

    family, by = ["model", "parts"], ["model", "parts", "batch"]
    rows = batches.join(batch_effects(draws, level=level), on=by, how="left")
    rows = rows.join(families.select(*family, "groups", "apart"), on=family, how="left")
    rest = beside_the_rest(draws, rows.filter(pl.col("order").is_null()), level=level)
    rows = rows.join(rest, on=by, how="left")
    pairs = beside_the_other(draws, rows.filter(pl.col("groups") == 2), level=level)
    rows = rows.join(pairs, on=by, how="left", suffix="_pair").with_columns(
        p_shorter=pl.coalesce("p_shorter_pair", "p_shorter"),
        beside=pl.coalesce("other", "effect"),
    )
    return rank_batches(judge_batches(rows.with_columns(name="batch")))


def _model_rows(
    lives: pl.DataFrame,
    families: pl.DataFrame,
    judged: pl.DataFrame,
    draws: pl.DataFrame,
    shares: pl.DataFrame,
    ages: pl.DataFrame,
    level: float,
) -> pl.DataFrame:
    from fleet.fits.suspects.draws import chance_alike, model_effects
    from fleet.flow.suspects_judge import ALIKE, FEWEST

    by = ["model", "parts"]
    failed = pl.col("count").filter(pl.col("high").is_not_null()).sum()
    rows = lives.group_by(by).agg(pl.col("count").sum().alias("lives"), failed.alias("failures"))
    sides = judged.group_by(by).agg(
        (pl.col("verdict") == SHORTER).sum().alias("shorter"),
        (pl.col("verdict") == LONGER).sum().alias("longer"),
    )
    tests = families.select(*by, "groups", "p_alike", "p_rest_alike", "reason")
    many = tests["p_alike"].drop_nulls().len()
    tests = tests.with_columns(
        p_value="p_alike", p_adjusted=(pl.col("p_alike") * many).clip(upper_bound=1.0)
    )
    # a batch of which next to nothing is known neither makes the others alike nor unlike
    known = judged.filter(pl.max_horizontal("failures", "expected") >= FEWEST)
    told = draws.join(known.select(*by, "batch"), on=[*by, "batch"], how="semi")
    same = chance_alike(told, within=ALIKE).rename({"p_alike": "p_same"})
    seen = known.group_by(by).agg(pl.len().alias("known"))
    own = shares.filter(pl.col("model").is_not_null() & (pl.col("part_of_life") == "batch"))
    for more in (tests, sides, seen, same, model_effects(draws, level=level), ages,
                 own.drop("part_of_life")):  # fmt: skip
        rows = rows.join(more, on=by, how="left")
    # the typical scale is that of the model's factory batches
    own_effect = pl.when(pl.col("parts") == "original").then(
        pl.col("effect", "effect_low", "effect_high")
    )
    rows = rows.sort(by).with_columns(
        own_effect,
        pl.col("shorter", "longer").fill_null(0),
        name="model",
        p_alike_adjusted="p_adjusted",
        why_not="reason",
    )
    verdicts = [judge_model(row) for row in rows.iter_rows(named=True)]
    return rows.with_columns(verdict=pl.Series(verdicts, dtype=pl.String))


def _reasons(rows: pl.DataFrame, words: Callable[[dict[str, Any]], str]) -> pl.Series:
    return pl.Series([words(row) for row in rows.iter_rows(named=True)], dtype=pl.String)


def _as_rows(frame: pl.DataFrame, level: str) -> pl.DataFrame:
    given = frame.with_columns(level=pl.lit(level))
    return given.select(
        (pl.col(name) if name in given.columns else pl.lit(None)).cast(dtype).alias(name)
        for name, dtype in SUSPECTS.items()
    )
