"""Verdicts on batches, models and batches used in several models, from tests and posterior."""

from statistics import NormalDist
from typing import Any

import polars as pl

ALIKE = 0.7  # a batch within this factor of its model's typical life is like the others; our rule
FEWEST = 3.0  # failures below which no batch is called shorter-lived; our own rule
UNLIKELY = 0.05
LITTLE = 0.85  # a batch that differs less lives as batches ordinarily do; our own rule
SURE = 0.95  # posterior chance from which something is said
SHORTER, LONGER, LIKE = "shorter life", "longer life", "like the others"
SLIGHT = "differs a little"
OTHER = "the other of two"  # of two batches, the one the other lives shorter than
UNTOLD, FEW = "cannot tell", "too few failures"
BATCH = "batch"
DESIGN = "batches fail alike: the design ages its parts"
NEITHER = "batches fail alike, and age does not matter"


def judge_batches(rows: pl.DataFrame) -> pl.DataFrame:
    """Adds `verdict` to batches: effect, effect_low, effect_high, p_shorter, failures, expected,
    order, groups (compared in the family), apart, beside (median of its life over the typical
    batch's, of two over the other's), rest_low, rest_high (limits of its life over
    that of the batches not told apart), model, parts.

    Shorter or longer: told apart by the test, sided by the posterior with 19 in 20, and by more
    than a little. Shorter takes three failures.
    """
    # the other one of a pair that was told apart: it is the one the first differs from
    counterpart = (pl.col("groups") == 2) & (pl.col("apart") > 0)
    differs = pl.col("order").is_not_null() | counterpart
    short = pl.col("failures") > pl.col("expected")
    sided_short, sided_long = pl.col("p_shorter") >= SURE, pl.col("p_shorter") <= 1.0 - SURE
    much_short, much_long = pl.col("beside") <= LITTLE, pl.col("beside") >= 1.0 / LITTLE
    inside = (pl.col("rest_low") >= ALIKE) & (pl.col("rest_high") <= 1.0 / ALIKE)
    verdict = (
        pl.when(differs & short & sided_short & much_short & (pl.col("failures") >= FEWEST))
        .then(pl.lit(SHORTER))
        .when(differs & ~short & sided_long & much_long)
        .then(pl.lit(LONGER))
        .when(pl.col("failures") < FEWEST)
        .then(pl.lit(FEW))
        .when(differs & pl.when(short).then(sided_short).otherwise(sided_long))
        .then(pl.lit(SLIGHT))
        .when(differs)
        .then(pl.lit(UNTOLD))
        .when(inside)
        .then(pl.lit(LIKE))
        .otherwise(pl.lit(UNTOLD))
    )
    judged = rows.with_columns(verdict.alias("verdict"))
    # of two batches, one living shorter and the other longer is one fact, said once
    short_beside = (pl.col("verdict") == SHORTER).any().over("model", "parts")
    repeated = (pl.col("groups") == 2) & (pl.col("verdict") == LONGER) & short_beside
    said_once = pl.when(repeated).then(pl.lit(OTHER)).otherwise("verdict")
    return judged.with_columns(verdict=said_once)


def rank_batches(rows: pl.DataFrame) -> pl.DataFrame:
    """Suspects first: those judged shorter-lived, then by shrunk effect; batches with fewer
    than three failures come after all others, however short-lived they look.
    """
    return (
        rows.with_columns(
            _accused=pl.col("verdict") != SHORTER, _few=pl.col("failures") < FEWEST
        )
        .sort("_accused", "_few", "effect", "effect_high", "model", "parts", "name",
              nulls_last=True)
        .drop("_accused", "_few")
    )  # fmt: skip


def judge_model(row: dict[str, Any]) -> str:
    """Verdict on a model: groups (named batches), failures, reason, p_alike_adjusted, shorter,
    longer (how many so judged), known (batches with three failures, or of which three were
    expected), p_same (posterior chance that all these are alike), p_wears_out, p_design.
    """
    if row["shorter"] or row["longer"]:
        return _different(row)
    if (row["groups"] or 0) < 2:
        return f"{UNTOLD}: fewer than two batches are named"
    if row["reason"] is not None:
        return f"{UNTOLD}: {row['reason']}"
    if row["p_alike_adjusted"] is not None and row["p_alike_adjusted"] <= UNLIKELY:
        return f"{UNTOLD}: its batches differ, but none clearly enough to be named"
    if (row["known"] or 0) < 2 or row["p_same"] is None:
        return f"{UNTOLD}: too few failures in all but one batch"
    if row["p_same"] < SURE - 0.05:
        return f"{UNTOLD}: no difference seen, but one could still hide"
    if row["p_wears_out"] >= SURE:
        return DESIGN
    if row["p_wears_out"] <= 0.5:
        return NEITHER
    return f"{UNTOLD}: batches fail alike, but whether age matters is open"


def _different(row: dict[str, Any]) -> str:
    if row["groups"] == 2:
        return f"two batches with different life: {BATCH}"
    short, longer = row["shorter"], row["longer"]
    words = []
    if short:
        words.append(f"{_count(short)} of {row['groups']} batches live{'s' * (short == 1)} shorter")
    if longer:
        words.append(f"{_count(longer)} of {row['groups']} live{'s' * (longer == 1)} longer")
    return f"{', '.join(words)}: {BATCH}"


def _count(number: int) -> str:
    return (
        ("no", "one", "two", "three", "four", "five", "six")[number] if number < 7 else str(number)
    )


def together_p(p_values: list[float], shorter: list[bool]) -> float:
    """Two-sided chance of p-values so much on one side: mean of their normal scores times the
    root of how many there are (Stouffer 1949; from memory).
    """
    normal = NormalDist()
    scores = [
        (1.0 if short else -1.0) * -normal.inv_cdf(max(min(p, 1.0 - 1e-12), 1e-12) / 2.0)
        for p, short in zip(p_values, shorter, strict=True)
    ]
    total = sum(scores) / len(scores) ** 0.5
    return 2.0 * normal.cdf(-abs(total))


def judge_across(row: dict[str, Any]) -> str:
    """Verdict on a batch used in several models: models, shorter (models in which it is judged
    shorter-lived), below (models in which its shrunk effect is below 1), p_adjusted, p_shorter.
    """
    if row["shorter"] == row["models"]:
        return f"shorter life in each of its {row['models']} models: the parts"
    sure = row["p_adjusted"] is not None and row["p_adjusted"] <= UNLIKELY
    if sure and row["p_shorter"] >= SURE and row["below"] == row["models"]:
        return f"shorter life in its {row['models']} models together: the parts"
    if row["shorter"]:
        return f"shorter life in {_count(row['shorter'])} of its {row['models']} models only"
    low, high = row["effect_low"], row["effect_high"]
    if low is not None and low >= ALIKE and high <= 1.0 / ALIKE and row["failures"] >= FEWEST:
        return LIKE
    return FEW if row["failures"] < FEWEST else UNTOLD
