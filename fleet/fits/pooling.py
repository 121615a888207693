"""May lives be taken together? What speaks against it, model by model. METHODS: pooling."""

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import polars as pl

from fleet.fits.batch_or_design import lives_alike
from fleet.fits.departure import departure
from fleet.fits.groups.mode_ages import modes_by_age
from fleet.fits.groups.scale_score import Score, dummies, score
from fleet.fits.regression import regression
from fleet.fits.rows import Floats, check_lives, cut_rows
from fleet.frames import LIFE

FEWEST = 5.0  # failures below which nothing is tested; our own rule
UNLIKELY = 0.05  # chance below which a difference is called one; common practice
SEED = 20_261_125
_DRAWS = 99  # for the mixture, and more where these say that it is rare
_MORE_DRAWS = 499
_MOST_LIVES = 200_000.0  # for the mixture, which draws whole fleets
_LATER_YEARS = 5.0

QUESTIONS = ("build_year", "batches", "revisions", "parts", "positions", "mixture")

POOLING = pl.Schema(
    {
        "model": pl.String(),
        "question": pl.String(),  # one of QUESTIONS
        "groups": pl.String(),  # what was held against what, with failures in brackets
        "lives": pl.Float64(),
        "failures": pl.Float64(),
        "statistic": pl.Float64(),
        "degrees_of_freedom": pl.Int64(),
        "p_value": pl.Float64(),  # chance of as much where all live alike
        "p_corrected": pl.Float64(),  # for all looks of the call together
        "judged_by": pl.String(),  # chi_square, drawn_anew, permuted
        "effect": pl.Float64(),  # build_year: times as long for 5 years later; else null
        "reason": pl.String(),  # why there is no test
    }
)
_Row = dict[str, Any]


Again = Callable[[pl.DataFrame, tuple[object, ...], Callable[[], list[_Row]]], list[_Row]]


def pooling_tests(
    lives: pl.DataFrame,
    *,
    questions: Sequence[str] = QUESTIONS,
    seed: int = SEED,
    again: Again | None = None,
) -> pl.DataFrame:
    """POOLING: for each model and question a test of what taking its lives together assumes.

    `lives`: frames.LIFE in any one unit, model, and of the columns built (year of making), batch,
    revision, parts (original or anything else), position (of the failure, where one is known to
    be at fault) those that are known; null is unknown and takes no part. `parts` compares the
    original with the others; all other questions are about original parts only.

    A test needs 5 failures and something to compare. p_corrected is Benjamini and Hochberg's
    (1995, J. R. Statist. Soc. B 57:289-300) over all tests of the call but those of parts (no
    correction is given there) and of batches, which come from fits.lives_alike: p_value that all
    live alike, p_corrected the smallest of a single batch, corrected for all batches of all
    models. So where nothing differs, each of the two families calls some difference real at 0.05
    in 5 of 100 stores. `again`: asked for the tests of each model, by its lives and all else they
    hang on; it may give those made before from the same. Raises BadFrame.
    """
    check_lives(lives, ())
    have = set(lives.columns)
    table = lives.with_columns(
        pl.lit(None, pl.String).alias(c) for c in ("batch", "revision", "position") if c not in have
    ).with_columns(
        *([] if "built" in have else [pl.lit(None, pl.Float64).alias("built")]),
        *([] if "parts" in have else [pl.lit("original").alias("parts")]),
    )
    rows: list[_Row] = []
    for (model,), own in table.sort("model").group_by("model", maintain_order=True):

        def work(own: pl.DataFrame = own, model: object = model) -> list[_Row]:
            return _of_model(model, own, questions, seed)

        rows += work() if again is None else again(own, (tuple(questions), seed), work)
    frame = _frame(rows)
    # original and replaced parts are kept apart whatever the test says: no look that counts
    counts = pl.col("question") != "parts"
    frame = frame.with_columns(
        p_corrected=_corrected(frame.select(pl.when(counts).then("p_value")).to_series())
    )
    if "batches" in questions:
        frame = pl.concat([frame, _frame(_batches(table.filter(pl.col("parts") == "original")))])
    order = {question: place for place, question in enumerate(questions)}
    return frame.sort("model", pl.col("question").replace_strict(order, return_dtype=pl.Int64))


def _of_model(model: object, own: pl.DataFrame, questions: Sequence[str], seed: int) -> list[_Row]:
    """The tests of one model; those of its batches are made with all other models'."""
    original = own.filter(pl.col("parts") == "original")
    return [
        {
            "model": model,
            "question": question,
            **_ASKED[question](own if question == "parts" else original, seed),
        }
        for question in questions
        if question != "batches"
    ]


def _frame(rows: list[_Row]) -> pl.DataFrame:
    return pl.DataFrame([{**dict.fromkeys(POOLING), **row} for row in rows], schema=POOLING)


def _batches(lives: pl.DataFrame) -> list[_Row]:
    """All models at once, as fits.lives_alike corrects for all their batches."""
    known = lives.filter(
        pl.col("batch").is_not_null() & ~pl.col("batch").str.contains(":", literal=True)
    )
    rows = []
    if known.height:
        families, groups = lives_alike(known, ["model"], "batch")
        best = groups.group_by("model").agg(pl.col("p_adjusted").min())
        for found in families.join(best, on="model", how="left").iter_rows(named=True):
            own = known.filter(pl.col("model") == found["model"])
            few = _too_few(_counts(own)) if found["groups"] > 1 else None
            tested = found["reason"] is None and few is None
            rows.append(
                {
                    "model": found["model"],
                    "question": "batches",
                    "groups": _named(own, "batch"),
                    **_counts(own),
                    "p_value": found["p_alike"] if tested else None,
                    "p_corrected": found["p_adjusted"] if tested else None,
                    "judged_by": "drawn_anew" if tested else None,
                    "reason": few or found["reason"],
                }
            )
    without = lives.join(known, on="model", how="anti")["model"].unique().sort()
    blank = {"question": "batches", "lives": 0.0, "failures": 0.0, "reason": "no batch is known"}
    return [*rows, *({"model": model, **blank} for model in without)]


def _counts(lives: pl.DataFrame) -> _Row:
    failed = lives.filter(pl.col("high").is_not_null())
    return {"lives": float(lives["count"].sum()), "failures": float(failed["count"].sum())}


def _too_few(counts: _Row) -> str | None:
    if counts["failures"] < FEWEST - 1e-9:
        return f"fewer than {FEWEST:g} failures"
    return None


def _build_year(lives: pl.DataFrame, seed: int) -> _Row:
    known = lives.filter(pl.col("built").is_not_null())
    out = _counts(known)
    if known.height == 0:
        return out | {"reason": "no build dates"}
    years = known["built"].to_numpy()
    out["groups"] = f"built {years.min():.0f} to {years.max():.0f}"
    if known["built"].n_unique() < 2:
        return out | {"reason": "all were built at one time"}
    out |= _scored(known, years[:, None], out, seed)
    if out.get("p_value") is not None and out["p_value"] <= UNLIKELY:
        factor = _later(known)
        out["effect"] = factor
    return out


def _later(known: pl.DataFrame) -> float | None:
    fit = regression(known.select(*LIFE, "built"), ["built"])
    effect, per = fit.effects.row(0, named=True)["effect"], fit.effects["per"][0]
    if effect is None:
        return None
    step = float(per.split()[0])
    return float(effect ** (_LATER_YEARS / step))


def _by(column: str, missing: str) -> Callable[[pl.DataFrame, int], _Row]:
    def ask(lives: pl.DataFrame, seed: int) -> _Row:
        known = lives.filter(
            pl.col(column).is_not_null() & ~pl.col(column).str.contains(":", literal=True)
        )
        out = _counts(known)
        if known.height == 0:
            return out | {"reason": missing}
        out["groups"] = _named(known, column)
        if known[column].n_unique() < 2:
            return out | {"reason": "there is only one"}
        return out | _scored(known, dummies(known[column]), out, seed)

    return ask


def _parts(lives: pl.DataFrame, seed: int) -> _Row:
    two = lives.filter(pl.col("parts") != "partial").with_columns(
        parts=pl.when(pl.col("parts") == "original")
        .then(pl.lit("original"))
        .otherwise(pl.lit("replaced"))
    )
    out = _counts(two)
    out["groups"] = _named(two, "parts")
    if two["parts"].n_unique() < 2:
        return out | {"reason": "no life of replaced parts is known"}
    return out | _scored(two, dummies(two["parts"]), out, seed)


def _positions(lives: pl.DataFrame, seed: int) -> _Row:
    failed = lives.filter(pl.col("high").is_not_null() & pl.col("position").is_not_null())
    # a mode seen once says nothing of when it comes
    kept = failed.filter(pl.len().over("position") > 1)
    out: _Row = {"lives": float(lives["count"].sum()), "failures": float(kept.height)}
    if kept.height:
        out["groups"] = _named(kept, "position")
    if kept["position"].n_unique() < 2:
        return out | {"reason": "no two positions are known to have failed twice or more"}
    if (why := _too_few(out)) is not None:
        return out | {"reason": why}
    age = (0.5 * (kept["low"] + kept["high"])).to_numpy()
    mode = (kept["position"].rank("dense") - 1).to_numpy().astype(np.int64)
    statistic, p = modes_by_age(age, mode, seed=seed)
    return out | {
        "statistic": statistic,
        "degrees_of_freedom": int(mode.max()),
        "p_value": p,
        "judged_by": "permuted",
    }


def _mixture(lives: pl.DataFrame, seed: int) -> _Row:
    out = _counts(lives) | {"groups": "all together"}
    if (why := _too_few(out)) is not None:
        return out | {"reason": why}
    if out["lives"] > _MOST_LIVES:
        return out | {"reason": "too many lives to draw whole fleets of them"}
    found = departure(lives, draws=_DRAWS, seed=seed).row(0, named=True)
    if found["p_value"] is not None and found["p_value"] <= 2.0 * UNLIKELY:
        found = departure(lives, draws=_MORE_DRAWS, seed=seed).row(0, named=True)
    return out | {
        "statistic": found["departure"],
        "p_value": found["p_value"],
        "judged_by": None if found["p_value"] is None else "drawn_anew",
        "reason": found["reason"],
    }


def _scored(known: pl.DataFrame, columns: Floats, counts: _Row, seed: int) -> _Row:
    if (why := _too_few(counts)) is not None:
        return {"reason": why}
    found = score(cut_rows(known, ()), columns, seed=seed)
    if not isinstance(found, Score):
        return {"reason": found}
    return {
        "statistic": found.statistic,
        "degrees_of_freedom": found.freedom,
        "p_value": found.p_value,
        "judged_by": found.by,
    }


def _named(lives: pl.DataFrame, column: str, most: int = 6) -> str:
    """The groups with their failures, the largest first."""
    failures = pl.col("count").filter(pl.col("high").is_not_null()).sum().alias("failures")
    groups = lives.group_by(column).agg(failures, pl.len().alias("rows"))
    order = groups.sort("failures", "rows", column, descending=[True, True, False])
    told = [f"{name} ({count:.3g})" for name, count, _ in order.head(most).iter_rows()]
    more = order.height - len(told)
    return ", ".join(told) + (f" and {more} more" if more else "")


def _corrected(p: pl.Series) -> pl.Series:
    """Benjamini and Hochberg's step-up p-values; null stays null."""
    told = np.flatnonzero(p.is_not_null().to_numpy())
    values = p.drop_nulls().to_numpy()
    order = np.argsort(values, kind="stable")
    m = len(values)
    stepped = values[order] * m / np.arange(1, m + 1)
    upward = np.minimum(np.minimum.accumulate(stepped[::-1])[::-1], 1.0)
    out = np.full(len(p), np.nan)
    out[told[order]] = upward
    return pl.Series(out, dtype=pl.Float64).fill_nan(None)


_ASKED: dict[str, Callable[[pl.DataFrame, int], _Row]] = {
    "build_year": _build_year,
    "revisions": _by("revision", "no unit is known to be of one revision or another"),
    "parts": _parts,
    "positions": _positions,
    "mixture": _mixture,
}
