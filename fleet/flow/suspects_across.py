"""Whether a batch used in several models stands out in each of them."""

from typing import Any

import numpy as np
import polars as pl

from fleet.flow.suspects_judge import SHORTER, UNLIKELY, judge_across, together_p
from fleet.flow.suspects_words import times


def batches_across(
    batches: pl.DataFrame, lives: pl.DataFrame, draws: pl.DataFrame, *, level: float
) -> pl.DataFrame:
    """One row for each batch with lives in two or more models, original and replaced apart.

    Columns: name, parts, lives, failures, effect, effect_low, effect_high, p_shorter, p_value
    (the tests within its models together), p_adjusted, verdict, reason. The effect is the mean
    over models of the log of its effect in each, weighted by the inverse of their posterior
    variance.
    """
    from fleet.fits.suspects.draws import Together, limits_of

    shared = batches.filter(pl.len().over("batch", "parts") > 1)
    out: list[dict[str, Any]] = []
    for (name, parts), rows in shared.group_by("batch", "parts", maintain_order=True):
        joint = Together(draws, str(parts))
        effects = np.stack([joint.batch(model, str(name)) for model in rows["model"]])
        weight = 1.0 / np.maximum(effects.var(axis=1), 1e-12)
        mean = weight @ effects / weight.sum()
        middle, low, high = np.exp(limits_of(mean, level))
        tested = rows.filter(pl.col("p_value").is_not_null())
        short = (tested["failures"] > tested["expected"]).to_list()
        out.append(
            {
                "name": name,
                "parts": parts,
                "models": rows.height,
                "lives": rows["lives"].sum(),
                "failures": rows["failures"].sum(),
                "effect": float(middle),
                "effect_low": float(low),
                "effect_high": float(high),
                "p_shorter": float((mean < 0.0).mean()),
                "shorter": int((rows["verdict"] == SHORTER).sum()),
                "below": int((rows["effect"] < 1.0).sum()),
                "p_value": together_p(tested["p_value"].to_list(), short) if short else None,
            }
        )
    models = _models_within(shared, lives)
    return pl.DataFrame([_judged(row, models, len(out)) for row in out], schema=_ROW)


_ROW = {
    "name": pl.String,
    "parts": pl.String,
    **dict.fromkeys(("lives", "failures", "effect", "effect_low", "effect_high"), pl.Float64),
    **dict.fromkeys(("p_shorter", "p_value", "p_adjusted"), pl.Float64),
    "verdict": pl.String,
    "reason": pl.String,
}


def _judged(row: dict[str, Any], models: dict[tuple[str, str], float], many: int) -> dict[str, Any]:
    p = row["p_value"]
    row["p_adjusted"] = None if p is None else min(p * many, 1.0)
    row["verdict"] = judge_across(row)
    said = (
        f"{row['name']} is in {row['models']} models: {times(row['effect'])} times as long as "
        f"typical there ({times(row['effect_low'])} to {times(row['effect_high'])}), "
        f"failures of its lives: {row['failures']:.0f} of {row['lives']:.0f}"
    )
    unlike = models.get((row["name"], row["parts"]))
    if unlike is not None and unlike * len(models) <= UNLIKELY:
        said += "; it does not last as long in each of them: the design matters too"
    return {name: row.get(name) for name in _ROW} | {"reason": said}


def _models_within(shared: pl.DataFrame, lives: pl.DataFrame) -> dict[tuple[str, str], float]:
    """Chance that a batch lasts alike in its models, where that can be tested."""
    from fleet.fits.batch_or_design import lives_alike

    own = lives.join(shared.select("model", "parts", "batch"), on=["model", "parts", "batch"])
    if own.is_empty():
        return {}
    tests, _ = lives_alike(own, ["batch", "parts"], "model")
    told = tests.filter(pl.col("p_alike").is_not_null())
    return {(r["batch"], r["parts"]): r["p_alike"] for r in told.iter_rows(named=True)}
