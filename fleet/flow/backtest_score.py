"""Cases of many past days to the tables of the look back."""

from collections.abc import Sequence
from dataclasses import dataclass

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.backtest_cases import Looked
from fleet.frames import empty_frame

_COSTS = ("cost", "cost_run_to_failure", "cost_fixed_age")
_SAVINGS = ("saved_on_run_to_failure", "saved_on_fixed_age")
_F, _N, _S = pl.Float64(), pl.Int64(), pl.String()

COLUMNS = pl.Schema(
    {
        "as_of": pl.Date(),  # the past day; null: all of them
        "model": _S,  # null: all of them
        "units": _N,  # machines given a chance that are counted
        "predicted": _F,  # mean chance to fail within the horizon
        "happened": _F,  # share of them that failed by their capacitors
        "happened_low": _F,
        "happened_high": _F,
        "failures": _F,  # failures within the horizon, unknown causes by their share
        "expected": _F,  # failures foretold for as long as each machine was followed
        "expected_low": _F,
        "expected_high": _F,
        "held": pl.Boolean(),  # the number that failed lies within these limits
        "brier": _F,
        "brier_reference": _F,  # of counting past failures per year of watching
        "gain": _F,  # brier_reference - brier
        "gain_low": _F,
        "gain_high": _F,
        "log_score": _F,
        "log_score_reference": _F,
        "cost": _F,  # of following the advice, per machine and year
        "cost_run_to_failure": _F,
        "cost_fixed_age": _F,
        "saved_on_run_to_failure": _F,  # cost_run_to_failure - cost
        "saved_on_run_to_failure_low": _F,
        "saved_on_run_to_failure_high": _F,
        "saved_on_fixed_age": _F,
        "saved_on_fixed_age_low": _F,
        "saved_on_fixed_age_high": _F,
        "currency": _S,
        "followed": _F,  # share of the machines whose fate is known
        "happened_least": _F,  # if none of the others failed
        "happened_most": _F,  # if all of them did
        "flagged": pl.Boolean(),  # some records count as known on a day that is not their own
        "reconstructed_share": _F,
        "horizon_years": _F,
        "fixed_age_years": _F,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scored:
    """Tables of COLUMNS and the calibration bins of all cases."""

    days: pl.DataFrame
    models: pl.DataFrame
    together: pl.DataFrame
    bins: pl.DataFrame
    calibration_error: float | None


def no_scores() -> Scored:
    """Nothing to score."""
    from fleet.fits.backtest import BINS

    none = empty_frame(COLUMNS)
    return Scored(
        days=none, models=none, together=none, bins=empty_frame(BINS), calibration_error=None
    )


def score_cases(
    looked: Sequence[Looked],
    flags: Sequence[float | None],
    lives: pl.DataFrame,
    models: pl.DataFrame,
    *,
    horizon: float,
    fixed_age: float,
    level: float,
) -> Scored:
    """Score the cases of past days. `flags`: share of records with a stand-in day of entry, for
    each day. `lives` (frames.LIVES, days) and `models` as known today, for the life that prices
    parts and for costs. `horizon` and `fixed_age` in days.
    """
    from fleet.decisions.cost_of_advice import cost_of_advice
    from fleet.fits.backtest import calibration, calibration_error, weigh_cases

    cases = pl.concat([one.cases for one in looked])
    if cases.is_empty():
        return no_scores()
    weighed = weigh_cases(cases, horizon=horizon, within=["as_of"])
    # A day on which nearly all were lost from sight before the end cannot tell.
    weighed = weighed.filter(pl.col("weight").sum().over("as_of") > 0)
    if weighed.is_empty():
        return no_scores()
    priced = _life_and_costs(weighed, lives, models)
    costed = cost_of_advice(priced, horizon=horizon, fixed_age=fixed_age)
    a_year = DAYS_PER_YEAR / horizon
    costed = costed.with_columns(pl.col(_COSTS) * a_year).with_columns(
        saved_on_run_to_failure=pl.col("cost_run_to_failure") - pl.col("cost"),
        saved_on_fixed_age=pl.col("cost_fixed_age") - pl.col("cost"),
    )
    flagged = pl.DataFrame(
        {"as_of": [one.as_of for one in looked], "reconstructed_share": list(flags)},
        schema={"as_of": pl.Date, "reconstructed_share": pl.Float64},
    )
    shared = {
        "horizon_years": horizon / DAYS_PER_YEAR,
        "fixed_age_years": fixed_age / DAYS_PER_YEAR,
    }

    counts = _counts(looked)

    def table(by: Sequence[str]) -> pl.DataFrame:
        found = _table(costed, by, flagged, level=level)
        return _beside_counts(found, counts).with_columns(
            pl.lit(value).alias(name) for name, value in shared.items()
        ).select(pl.col(c).cast(t) for c, t in COLUMNS.items())  # fmt: skip

    bins = calibration(weighed, level=level)
    return Scored(
        days=table(["as_of"]).sort("as_of"),
        models=table(["as_of", "model"]).sort("as_of", "model"),
        together=pl.concat([table([]), table(["model"]).sort("model")]),
        bins=bins,
        calibration_error=calibration_error(bins),
    )


def _counts(looked: Sequence[Looked]) -> pl.DataFrame:
    """Numbers foretold on each past day, all models (null) and each: as_of, model, expected,
    expected_low, expected_high.
    """
    return pl.concat(
        one.counts.select(
            "model", "expected", expected_low="low", expected_high="high", as_of=pl.lit(one.as_of)
        )
        for one in looked
    )


def _beside_counts(table: pl.DataFrame, counts: pl.DataFrame) -> pl.DataFrame:
    """Numbers foretold beside those that failed; several past days at once have none, for the same
    failure may count on each of them.
    """
    key = ["as_of", "model"]
    joined = table.join(counts, on=key, how="left", nulls_equal=True, maintain_order="left")
    low, high = pl.col("expected_low") - 0.5, pl.col("expected_high") + 0.5
    # Failures of unknown cause, or perhaps before the day, count in part: to the nearest whole.
    return joined.with_columns(held=pl.col("failures").is_between(low, high))


def _life_and_costs(cases: pl.DataFrame, lives: pl.DataFrame, models: pl.DataFrame) -> pl.DataFrame:
    """Cases with shape, scale, planned_cost, failure_cost (null for sets renewed in part, which no
    single age is about) and currency, all as known today.
    """
    from fleet.fits import fit_weibull

    whole = lives.filter(pl.col("parts") != "partial")
    fits = fit_weibull(whole, by=["model"]).filter(pl.col("exists") & (pl.col("failures") >= 3.0))
    costs = models.group_by("model").agg(
        pl.col("planned_cost", "failure_cost", "currency").drop_nulls().last()
    )  # fmt: skip
    usable = pl.when(pl.col("parts") != "partial")
    above = [
        usable.then(pl.when(pl.col(c) > 0).then(pl.col(c))).alias(c)
        for c in ("planned_cost", "failure_cost")
    ]
    return (
        cases.join(fits.select("model", "shape", "scale"), on="model", how="left")
        .join(costs, on="model", how="left", maintain_order="left")
        .with_columns(above)
    )


def _table(
    cases: pl.DataFrame, by: Sequence[str], flagged: pl.DataFrame, *, level: float
) -> pl.DataFrame:
    """Scores and costs of cases by past day, by model, both or neither."""
    from fleet.fits.backtest import mean_by_machine, scores

    found = scores(cases, by=by, level=level)
    costs = mean_by_machine(_one_currency(cases, by), [*_COSTS, *_SAVINGS], by=by, level=level)
    money = _one_currency(cases, by)
    named = money.group_by(by).agg(pl.col("currency").drop_nulls().first()) if by else (
        money.select(pl.col("currency").drop_nulls().first())
    )  # fmt: skip
    if by:
        out = found.join(costs, on=list(by), how="left").join(named, on=list(by), how="left")
    else:
        out = pl.concat([found, costs, named], how="horizontal")
    out = out.with_columns(units=pl.col("machines"))
    missing = [c for c in ("as_of", "model") if c not in by]
    out = out.with_columns(pl.lit(None, dtype=COLUMNS[c]).alias(c) for c in missing)
    if "as_of" in by:
        out = out.join(flagged, on="as_of", how="left")
    else:
        used = flagged.filter(pl.col("as_of").is_in(cases["as_of"].unique().to_list()))
        out = out.with_columns(reconstructed_share=used["reconstructed_share"].max())
    return out.with_columns(flagged=(pl.col("reconstructed_share") > 0).fill_null(value=False))


def _one_currency(cases: pl.DataFrame, by: Sequence[str]) -> pl.DataFrame:
    """Cases without costs where a group has costs in several currencies: they cannot be added."""
    costed = pl.when(pl.col("cost").is_not_null()).then("currency")
    several = (costed.n_unique() - costed.is_null().any().cast(pl.UInt32)) > 1
    mixed = several.over(list(by)) if by else several
    money = [*_COSTS, *_SAVINGS, "currency"]
    return cases.with_columns(pl.when(~mixed).then(pl.col(money)))
