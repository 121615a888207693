"""Why a recap in advance never pays, in words."""

import polars as pl


def never_said() -> pl.Expr:
    """Of units whose best age is never; reads the columns `actions.judge` does."""
    return (
        pl.when(pl.col("failure_cost") <= pl.col("planned_cost"))
        .then(pl.lit("A failure costs no more than a planned recap: run it until it fails."))
        .when((pl.col("shape") <= 1.0) & ((pl.col("shape_high") >= 1.0).fill_null(True)))
        .then(
            pl.lit(
                "As far as is known these failures do not grow with age: a recap in advance "
                "buys nothing."
            )
        )
        .when(pl.col("shape") <= 1.0)
        .then(pl.lit("These failures do not grow with age: a recap in advance buys nothing."))
        .when((pl.col("failures") < 1.0) & (pl.col("of_parts") != "original"))
        .then(
            pl.lit(
                "No failure of replaced parts is known here yet, so no age for the next recap "
                "can be given."
            )
        )
        .when((pl.col("shape_low") <= 1.0).fill_null(value=False))
        .then(
            pl.lit(
                "It is open whether these failures grow with age: as things stand a recap in "
                "advance is not expected to pay."
            )
        )
        .otherwise(
            pl.lit(
                "These failures grow with age, but so slowly that a recap in advance would save "
                "next to nothing."
            )
        )
    )
