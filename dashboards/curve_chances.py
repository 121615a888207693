"""The chance to reach an age, and to fail in the years after it, on the curves page."""

import address
import curve_reads
import curve_view
import polars as pl
import streamlit as st
import take_away
from curve_view import ONE_DECIMAL, PINNED, View

_OLDEST, _LONGEST = 200.0, 100.0
_SHARES = {"good": "Still good at that age (%)", "fails": "Of those, fail in the years after (%)"}


def draw(view: View) -> None:
    """Two numbers, a sentence for each group shown, and the same as a table."""
    one, two = st.columns(2)
    reach = one.number_input(
        "A set that still works at age (years)",
        min_value=0.5,
        max_value=_OLDEST,
        step=1.0,
        format="%g",
        **address.number("reach", 0.5, _OLDEST, 15.0),
    )
    within = two.number_input(
        "fails within the next (years)",
        min_value=0.25,
        max_value=_LONGEST,
        step=1.0,
        format="%g",
        **address.number("within", 0.25, _LONGEST, 5.0),
    )
    answer = curve_reads.chances(view.choice, view.shown, float(reach), float(within))
    curve_view.say(answer.notes, view)
    table = view.only(answer.frame)
    take_away.shown(
        table.select(
            pl.col("group").alias("Group"),
            *(
                curve_view.with_limits(table, c, form=curve_view.per_cent).alias(name)
                for c, name in _SHARES.items()
            ),
            pl.col("failures").alias("Failures"),
        ),
        "chances",
        hide_index=True,
        alt="Share still good at the age asked for, and share of those failing in the years after",
        column_config={"Group": PINNED, "Failures": ONE_DECIMAL},
    )
    st.caption(f"From the Weibull fit. In brackets the {view.level:.0%} limits.")
