"""Lives that were taken together though they differ."""

from collections.abc import Iterator

import numpy as np
import polars as pl

from fleet.flow.check_effects import chosen_lives
from fleet.flow.check_finding import Finding, Look
from fleet.flow.pooling_words import without_commands

_ADVICE = {
    "batches": "read on with fleet suspects; plan batch by batch",
    "revisions": "enter each revision as a model of its own",
    "positions": "read fits by position: fleet fit --by model,position",
    "build_year": "read fits of old and young machines apart; ask what was changed, and when",
    "mixture": "see what fits better: fleet fit --by model --check",
}
_TO_DO = {
    "batches": "Look at its batches one by one, and plan batch by batch.",
    "revisions": "Enter each revision as a model of its own.",
    "positions": "See which places fail, and when, before a whole recap is planned.",
    "build_year": "Ask what was changed in its making, and when; judge old and young ones apart.",
    "mixture": "See in its curves where the fit leaves the failures; read no further than that.",
}
_FEWEST = 3.0  # failures of a batch below which its own B10 is not compared


def not_poolable(look: Look) -> Iterator[Finding]:
    """Differences the gate found, with how far they move B10 where that can be said."""
    differs = (pl.col("answer") == "keep apart") & (pl.col("question") != "parts")
    apart = look.gate.filter(differs)
    models = look.records["units"].unique("unit", keep="first")
    for row in apart.iter_rows(named=True):
        yield Finding(
            subject=row["model"],
            finding=row["sentence"].removeprefix(f"{row['model']}: "),
            said=without_commands(row["sentence"]).removeprefix(f"{row['model']}: "),
            count=round(row["failures"]),
            advice=_ADVICE[row["question"]],
            to_do=_TO_DO[row["question"]],
            machines=models.filter(pl.col("model") == row["model"]).height,
            effect=_effect(look, row["model"], row["question"], row["effect"]),
            ask=False,
        )


def _effect(look: Look, model: str, question: str, trend: float | None) -> float | None:
    if question == "build_year" and trend is not None:
        return float(np.expm1(abs(np.log(trend))))
    if question != "batches":
        return None
    from fleet.fits import fit_weibull

    own = chosen_lives(look.table).filter(
        (pl.col("model") == model) & pl.col("batch").is_not_null()
    )
    fits = fit_weibull(own, by=("batch",)).filter(pl.col("failures") >= _FEWEST)
    whole = look.base.fits.filter(pl.col("model") == model)["b10"]
    gaps = (fits["b10"].drop_nulls() / whole.item(0)).log().abs() if len(whole) else None
    if gaps is None or gaps.is_empty() or whole.item(0) is None:
        return None
    return float(np.expm1(gaps.max()))
