"""Whether the groups shown differ, on the curves page."""

import curve_reads
import curve_view
import polars as pl
import streamlit as st
import take_away
import words
from curve_view import ONE_DECIMAL, PINNED, View

from fleet import charts

_TESTS = {
    "log-rank": "by when they fail (log-rank)",
    "likelihood-ratio": "by their Weibull fits (likelihood ratio)",
    "equal-shape": "whether they age alike (equal shape)",
    "equal-scale": "how long they last, if they age alike (equal scale)",
}


def draw(view: View) -> None:
    """Sentences, ratios of lives as a chart and a table, and the tests."""
    if len(view.shown) < 2:
        how = "show at least two" if view.by else "choose one curve for each model or batch above"
        st.info(f"There is only one group: {how} to compare them.")
        return
    found = curve_reads.alike(view.choice, view.shown)
    curve_view.say((*found.words, *found.notes), view)
    _ratios(view, found.ratios, rough=_age_differently(found.tests))
    _tests(found.tests)


def _age_differently(tests: pl.DataFrame) -> bool:
    shape = tests.filter(test="equal-shape")
    return bool(shape.select((pl.col("p_value") < 0.05).fill_null(False).any()).item())


def _ratios(view: View, ratios: pl.DataFrame, *, rough: bool) -> None:
    if ratios.height < 2:
        st.info(
            "No ratio of lives can be given: it takes two groups that hold failures and lives that "
            "outlast them."
        )
        return
    named = charts.name_groups(ratios, view.by)
    first = named["group"][0]
    st.markdown(f"**How long they last, beside {words.escaped(first)}**")
    if rough:
        st.caption("The groups age differently, so no one ratio holds at every age: rough at best.")
    take_away.drawn(
        charts.draw_ratios(ratios, by=view.by),
        "ratios",
        alt=f"How many times as long as {first} each group lasts, with limits; the table below has "
        "the numbers.",
    )
    st.caption(
        f"Lines are {view.level:.0%} limits. A line that crosses 1 leaves open which lasts longer; "
        "a dotted end has no limit on that side. One shape is taken for all groups."
    )
    take_away.shown(
        named.with_row_index("place").select(
            pl.col("group").alias("Group"),
            pl.when(pl.col("place") == 0)
            .then(pl.lit("1, the measure"))
            .otherwise(curve_view.with_limits(named, "ratio"))
            .alias("Times as long"),
            pl.col("failures").alias("Failures"),
            pl.col("lives").alias("Lives"),
        ),
        "ratios",
        hide_index=True,
        alt="Ratios of lives with limits",
        column_config={"Group": PINNED, "Lives": ONE_DECIMAL, "Failures": ONE_DECIMAL},
    )


def _tests(tests: pl.DataFrame) -> None:
    st.markdown("**Tests**")
    take_away.shown(
        tests.select(
            pl.col("test").replace(_TESTS).alias("Compared"),
            curve_view.p_value("p_value").alias("Chance of as much"),
            curve_view.p_value("p_permuted").alias("by dealing out anew"),
            pl.col("statistic").alias("Statistic"),
            pl.col("degrees_of_freedom").alias("Degrees of freedom"),
        ),
        "tests",
        hide_index=True,
        alt="Tests of whether the groups differ",
        placeholder="none",
        column_config={"Statistic": st.column_config.NumberColumn(format="%.2f")},
    )
    st.caption(
        "Chance of as much: how often groups that do not differ would look this different. By "
        "dealing out anew: the same, found by dealing the lives out to the groups at random; where "
        "failures are few it is the one to go by."
    )
