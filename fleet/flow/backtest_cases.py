"""One past day: the chance each machine was given then, beside what is known of it today."""

# METHODS: backtest

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

import polars as pl

from fleet.ages import days
from fleet.flow.answers import table_of
from fleet.flow.backtest_forecast import Forecast, Said, forecast_at
from fleet.flow.table import Settings

_ENOUGH = 5.0  # failures from which a model's own rate serves as the reference; our choice
_FIRST_DAY, _LAST_DAY = date(1600, 1, 1), date(9999, 12, 31)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Looked:
    """What became of the forecasts of one past day.

    `cases`: fits.backtest.CASES with as_of, model, batch, parts, age and optimal_age. The counts
    are of machines thought to work then: `working` all of them, `without_chance` no estimate,
    `failed_before` known today to have failed by then, `set_aside` not counted for another reason
    (they had failed once before and ran on, or their records disagree), `not_heard` of those in
    the cases, not heard of to the end of the horizon. `counts`: decisions.COUNTS of the cases, of
    the days each was followed; empty where the forecast says nothing of numbers.
    """

    as_of: date
    cases: pl.DataFrame
    working: int
    without_chance: int
    failed_before: int
    set_aside: int
    not_heard: int
    counts: pl.DataFrame


def look_at(
    records: Mapping[str, pl.DataFrame],
    fates: pl.DataFrame,
    *,
    as_of: date,
    horizon_years: float,
    new_parts: str = "typical",
    settings: Settings | None = None,
    forecast: Forecast = forecast_at,
    level: float = 0.90,
) -> Looked:
    """The cases of one past day. `records` as known then, `fates` (lives.fates.FATES) today;
    `level` is that of the limits of numbers.
    """
    table = table_of(records, as_of=as_of, settings=settings)
    told = forecast(records, as_of, horizon_years, table=table, new_parts=new_parts)
    told = told if isinstance(told, Said) else Said(frame=told)
    said = told.frame
    given = said.filter(pl.col("p_fail").is_not_null()).join(
        table.working.select("unit", "parts", "failed_once"), on="unit", how="left"
    )
    rates = past_rates(table.lives, given["model"].unique())
    given = (
        given.filter(~pl.col("failed_once").fill_null(value=False))
        .join(rates, on="model", how="left")
        .select(
            "unit", "model", "batch", "parts", "age", "optimal_age", chance="p_fail",
            reference=1.0 - (-pl.col("rate") * days(horizon_years)).exp(),
            as_of=pl.lit(as_of),
        )
    )  # fmt: skip
    cases, before = _outcomes(given, fates, as_of=as_of, horizon=days(horizon_years))
    unheard = ~pl.col("failed") & (pl.col("days") < days(horizon_years))
    return Looked(
        as_of=as_of,
        cases=cases,
        working=said.height,
        without_chance=said["p_fail"].null_count(),
        failed_before=before,
        set_aside=said.height - said["p_fail"].null_count() - before - cases["unit"].n_unique(),
        not_heard=cases.filter(unheard)["unit"].n_unique(),
        counts=_counts(told, cases, level),
    )


def _counts(told: Said, cases: pl.DataFrame, level: float) -> pl.DataFrame:
    from fleet.decisions import COUNTS

    if told.count is None or cases.is_empty():
        return pl.DataFrame(schema=COUNTS)
    return told.count(cases.select("unit", "days", "share"), level)


def past_rates(lives: pl.DataFrame, models: pl.Series) -> pl.DataFrame:
    """Failures a day of watching in each model as plain counting has them: model, rate.

    Failures by the capacitors over the time lives were watched, of lives that did not come in by
    failing; all models' together where a model has fewer than five failures. The rate of a store
    with no such life is 0.
    """
    failed = (pl.col("high").is_not_null().cast(pl.Float64) * pl.col("count")).sum()
    end = (pl.col("low") + pl.coalesce("high", "low")) / 2.0
    watched = ((end - pl.col("entry")) * pl.col("count")).sum()
    ordinary = lives.filter(pl.col("known_by").is_null())
    per_day = pl.when(watched > 0).then(failed / watched).otherwise(0.0)
    every = ordinary.select(per_day).item() if ordinary.height else 0.0
    own = ordinary.group_by("model").agg(failures=failed, own=per_day)
    enough = pl.col("failures") >= _ENOUGH
    return (
        pl.DataFrame({"model": models}, schema={"model": pl.String})
        .join(own, on="model", how="left")
        .select("model", rate=pl.when(enough).then("own").otherwise(pl.lit(every)))
    )


def _outcomes(
    given: pl.DataFrame, fates: pl.DataFrame, *, as_of: date, horizon: float
) -> tuple[pl.DataFrame, int]:
    """Cases of the machines given a chance, and how many of them had failed before.

    Of a failure known to lie in a range of days each day is as likely as another: the part of the
    range after `as_of` is the share of the machine in the cases, and the part within the horizon
    the share of it that failed.
    """
    at = pl.lit(as_of)
    here = fates.filter(
        (pl.col("set_no") == 1) | (pl.col("started_latest") <= at).fill_null(value=False)
    ).filter(pl.col("set_no") == pl.col("set_no").max().over("unit"))
    rows = given.join(here, on="unit", how="inner").with_columns(
        a=_after(pl.coalesce("after", pl.lit(_FIRST_DAY)), at),
        b=_after(pl.coalesce("by", pl.lit(_LAST_DAY)), at),
    )
    failed = _parts_of_failures(rows.filter("failed"), horizon)
    lived = rows.filter(~pl.col("failed")).with_columns(
        days=pl.col("a").clip(0.0, horizon), before=pl.lit(0.0)
    )
    every = pl.concat([failed, lived], how="diagonal")
    before = every.group_by("unit").agg(gone=(pl.col("before").sum() > 1.0 - 1e-9))["gone"].sum()
    cases = every.filter(pl.col("share") > 1e-9).select(
        "as_of", "unit", "model", "batch", "parts", "age", "optimal_age", "chance", "reference",
        pl.col("share").clip(0.0, 1.0), "failed", "days",
    ).sort("unit", "failed", "days")  # fmt: skip
    return cases, int(before or 0)


def _parts_of_failures(failures: pl.DataFrame, horizon: float) -> pl.DataFrame:
    """Rows for the parts of each failure within the horizon, beyond it, and (share 0) before."""
    width = pl.col("b") - pl.col("a")
    low, high = pl.col("a").clip(lower_bound=0.0), pl.col("b").clip(upper_bound=horizon)
    exact = width <= 0

    def part(size: pl.Expr, all_of_it: pl.Expr) -> pl.Expr:
        inside = pl.when(exact).then(all_of_it.cast(pl.Float64)).otherwise(size / width)
        return pl.col("share") * inside.clip(0.0, 1.0)

    b = pl.col("b")
    within = failures.with_columns(
        share=part(high - low, (b > 0) & (b <= horizon)),
        days=(low + high) / 2.0,
        before=part((-pl.col("a")).clip(lower_bound=0.0).clip(upper_bound=width), b <= 0),
    )
    beyond = failures.with_columns(
        share=part(b - low.clip(lower_bound=horizon), b > horizon),
        days=pl.lit(horizon),
        failed=pl.lit(False),
        before=pl.lit(0.0),
    )
    return pl.concat([within, beyond])


def _after(day: pl.Expr, at: pl.Expr) -> pl.Expr:
    """Days after the past day; negative before it."""
    return (day - at).dt.total_days().cast(pl.Float64)
