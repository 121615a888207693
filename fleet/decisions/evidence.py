"""What a unit's answer rests on, and what stands against leaning on it."""

from dataclasses import dataclass

import polars as pl

from fleet.decisions.policies import LEAST_COST, Policy
from fleet.decisions.say import count_said, horizon_said, years_said

_WHICH_AGE = {
    "cost": "the best age",
    "risk": "the age at which the limit is passed",
    "age": "the fixed age",
}


@dataclass(frozen=True, eq=False, slots=True)
class Doubt:
    """A reason why an answer is not supported: its condition, and its words.

    `of_date`: it speaks against the date too, not only against the chance in the years ahead.
    """

    when: pl.Expr
    said: pl.Expr
    of_date: bool = True


def against(horizon_years: float, horizon: float, policy: Policy = LEAST_COST) -> list[Doubt]:
    """Every reason why an answer may not be supported.

    `horizon` is the same as `horizon_years`, in days. Of a fixed age nothing is in doubt but the
    chance.
    """
    age, oldest = pl.col("age"), pl.col("oldest_age")
    age_beyond = (age > oldest).fill_null(True)
    then_beyond = ~age_beyond & (age + horizon > oldest)
    best_beyond = ~age_beyond & ~then_beyond & (pl.col("optimal_age") > oldest)
    watched = pl.coalesce(years_said(oldest), pl.lit("unknown"))
    no_basis = (pl.col("shape_low").is_null() | (pl.col("shape_low") <= 1.0)) & (
        pl.col("shape_high").is_null() | (pl.col("shape_high") >= 1.0)
    )
    found = pl.col("estimate").is_not_null()
    return [
        Doubt(
            (pl.col("parts") == "partial").fill_null(False),
            pl.lit("only some of its parts were renewed, so it is judged by the oldest of them"),
        ),
        Doubt(
            pl.col("borrowed").fill_null(False),
            pl.lit(
                "too little is known of replaced parts in this model, so the life of original "
                "parts stands in"
            ),
        ),
        Doubt(
            pl.col("by_kind").fill_null(False),
            pl.lit(
                "few failures of its model are known, so other models of its kind stand behind "
                "the answer"
            ),
        ),
        Doubt(
            pl.col("too_few").fill_null(False) & ~pl.col("by_kind").fill_null(False),
            pl.format(
                "hardly any failure of {} is known, so the answer leans on what is usual for such "
                "parts{}",
                pl.when(_original())
                .then(pl.lit("its model"))
                .otherwise(pl.lit("replaced parts in its model")),
                pl.when(_original())
                .then(pl.lit(""))
                .otherwise(pl.lit(" and on the life of its original ones")),
            ),
        ),
        Doubt(
            pl.col("failed_once").fill_null(False),
            pl.lit("its parts have failed before"),
        ),
        Doubt(
            found & no_basis,
            pl.lit("no basis for age, for it is open whether these failures grow with age"),
        ),
        Doubt(
            found & age_beyond,
            pl.format("its parts are older than any life watched (oldest: {})", watched),
        ),
        Doubt(
            found & then_beyond.fill_null(False),
            pl.format(
                "in {} its parts will be older than any life watched (oldest: {})",
                pl.lit(horizon_said(horizon_years)),
                watched,
            ),
            of_date=False,
        ),
        Doubt(
            found & best_beyond.fill_null(False),
            pl.format(
                "{} lies beyond the oldest life watched (oldest: {})",
                pl.lit(_WHICH_AGE[policy.rule]),
                watched,
            ),
        ),
    ]


def rests_on() -> pl.Expr:
    """How many failures and lives an answer rests on, and whose.

    A posterior rests on the whole model, and says how much of that is of the unit's own batch
    (batch_failures, else null); a fit of one batch rests on that batch alone.
    """
    beside = pl.col("batch_failures").is_not_null()
    kind = pl.when(_original()).then(pl.lit("")).otherwise(pl.lit("replaced parts in "))
    own = pl.col("of_batch").is_not_null() & ~beside
    whose = (
        pl.when(own)
        .then(pl.format("batch {}", pl.col("of_batch")))
        .otherwise(pl.format("model {}", pl.col("model")))
    )
    failures = count_said(pl.col("failures"))
    noun = pl.when(failures == "1").then(pl.lit("failure")).otherwise(pl.lit("failures"))
    mine = count_said(pl.col("batch_failures"))
    which = (
        pl.when(failures == "1")
        .then(pl.when(mine == "0").then(pl.lit("not")).otherwise(pl.lit("that one")))
        .when(mine == "0")
        .then(pl.lit("none of them"))
        .otherwise(pl.format("{} of them", mine))
    )
    of_them = pl.format(", {} of its batch {}", which, pl.col("of_batch"))
    return pl.format(
        "This rests on {} {} among {} {} of {}{}{}.",
        pl.when(pl.col("failures") > 0).then(failures).otherwise(pl.lit("no")),
        noun,
        count_said(pl.col("lives")),
        pl.when(count_said(pl.col("lives")) == "1").then(pl.lit("life")).otherwise(pl.lit("lives")),
        kind,
        whose,
        pl.when(beside & pl.col("of_batch").is_not_null() & (pl.col("failures") > 0))
        .then(of_them)
        .otherwise(pl.lit("")),
    )


def _original() -> pl.Expr:
    return (pl.col("of_parts") == "original").fill_null(value=True)
