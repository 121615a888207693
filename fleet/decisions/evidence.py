"""What a unit's answer rests on, and what stands against leaning on it."""

import polars as pl

from fleet.decisions.say import count_said, horizon_said, years_said


def against(horizon_years: float, horizon: float) -> list[tuple[pl.Expr, pl.Expr]]:
    """Each reason why an answer is not supported: condition, and its words.

    `horizon` is the same as `horizon_years`, in days.
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
        (
            (pl.col("parts") == "partial").fill_null(False),
            pl.lit("only some of its parts were renewed, so it is judged by the oldest of them"),
        ),
        (
            pl.col("borrowed").fill_null(False),
            pl.lit(
                "no life of replaced parts is known for this model, so that of the original "
                "parts stands in"
            ),
        ),
        (
            pl.col("failed_once").fill_null(False),
            pl.lit("its parts have failed before"),
        ),
        (
            found & no_basis,
            pl.lit("no basis for age, for it is open whether these failures grow with age"),
        ),
        (
            found & age_beyond,
            pl.format("its parts are older than any life watched (oldest: {})", watched),
        ),
        (
            found & then_beyond.fill_null(False),
            pl.format(
                "in {} its parts will be older than any life watched (oldest: {})",
                pl.lit(horizon_said(horizon_years)),
                watched,
            ),
        ),
        (
            found & best_beyond.fill_null(False),
            pl.format("the best age lies beyond the oldest life watched (oldest: {})", watched),
        ),
    ]


def rests_on() -> pl.Expr:
    """How many failures and lives an answer rests on, and whose."""
    whose = (
        pl.when(pl.col("of_batch").is_null())
        .then(pl.format("model {}", pl.col("model")))
        .otherwise(pl.format("batch {}", pl.col("of_batch")))
    )
    failures = count_said(pl.col("failures"))
    noun = pl.when(failures == "1").then(pl.lit("failure")).otherwise(pl.lit("failures"))
    return pl.format(
        "This rests on {} {} among {} lives of {}.",
        failures,
        noun,
        count_said(pl.col("lives")),
        whose,
    )
