"""The tables of the look back."""

import polars as pl
import streamlit as st
import take_away

from fleet.flow.backtest_words import came_true_words

_ONE = st.column_config.NumberColumn(format="%.1f")
_THREE = st.column_config.NumberColumn(format="%.3f")
_TWO = st.column_config.NumberColumn(format="%.2f")


def draw_sizes(bins: pl.DataFrame) -> None:
    """What was expected and what failed, for each group of like chances."""
    take_away.shown(
        bins.select(
            (pl.col("predicted") * 100).alias("Expected (of 100)"),
            (pl.col("happened") * 100).alias("Failed (of 100)"),
            (pl.col("happened_low") * 100).alias("at least"),
            (pl.col("happened_high") * 100).alias("at most"),
            pl.col("cases").round(0).cast(pl.Int64).alias("Chances given"),
            pl.col("machines").alias("Machines"),
        ),
        "chances-come-true",
        hide_index=True,
        height="content",
        alt="Expected and actual failures for each group of like chances",
        placeholder="none",
        column_config=dict.fromkeys(
            ("Expected (of 100)", "Failed (of 100)", "at least", "at most"), _ONE
        ),
    )


def draw_scores(frame: pl.DataFrame, first: str, name: str, *, fixed_age: str) -> None:
    """One row for each past day or model: shares, scores and costs."""
    fixed = f"Cost: at {fixed_age} years"
    take_away.shown(
        frame.select(
            pl.col(first).cast(pl.String).fill_null("all of them").alias(name),
            came_true_words().alias("Did it come true?"),
            (pl.col("predicted") * 100).alias("Expected (of 100)"),
            (pl.col("happened") * 100).alias("Failed (of 100)"),
            (pl.col("happened_low") * 100).alias("at least"),
            (pl.col("happened_high") * 100).alias("at most"),
            pl.col("units").alias("Machines"),
            pl.col("brier").alias("Score"),
            pl.col("brier_reference").alias("Score of counting"),
            pl.col("cost").alias("Cost: dates kept"),
            pl.col("cost_run_to_failure").alias("Cost: never in advance"),
            pl.col("cost_fixed_age").alias(fixed),
            (pl.col("followed") * 100).alias("Followed (%)"),
            (pl.col("reconstructed_share") * 100).alias("No day of entry (%)"),
        ),
        f"scores-by-{first.replace('_', '-')}",
        hide_index=True,
        height="content",
        alt=f"Expected and actual failures, scores and costs for each {name.lower()}",
        placeholder="none",
        column_config={
            name: st.column_config.TextColumn(pinned=True),
            **dict.fromkeys(("Expected (of 100)", "Failed (of 100)", "at least", "at most"), _ONE),
            **dict.fromkeys(("Score", "Score of counting"), _THREE),
            **dict.fromkeys(("Cost: dates kept", "Cost: never in advance", fixed), _TWO),
            **dict.fromkeys(("Followed (%)", "No day of entry (%)"), _ONE),
        },
    )
