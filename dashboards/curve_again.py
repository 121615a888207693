"""How often machines fail again and again, on the curves page."""

import curve_reads
import curve_view
import polars as pl
import streamlit as st
import take_away
from curve_view import NO_DECIMALS, PINNED, View

from fleet import charts
from fleet.flow import where_it_stops

_TWO_DECIMALS = st.column_config.NumberColumn(format="%.2f")


def draw(view: View) -> None:
    """Mean number of failures by age of the machine: sentences, chart, table."""
    by, groups = curve_reads.machine_groups(view.choice, view.curves, view.shown)
    found = curve_reads.repeated(view.choice, by, groups)
    points = curve_view.only(found.frame, by, groups)
    if points.is_empty():
        st.info("No machine of these groups was watched for long enough to count its failures.")
        return
    curve_view.say(found.notes, view, names=groups)
    take_away.drawn(
        charts.draw_repeated(points.drop("group"), by=by, among=groups),
        "failures-again",
        alt="Mean number of failures of a machine by its age, with limits; the table below has "
        "the numbers.",
    )
    st.caption(
        "Machines that are repaired and go on, through all their sets of capacitors: the steeper, "
        f"the faster failures come. Bands are {view.level:.0%} limits. Faint dots: too few "
        "machines were watched."
    )
    curve_view.say_stops(where_it_stops.rate_stops(points, by=by, what="machines"))
    drawn = points.filter("supported")
    if drawn.is_empty():
        return
    take_away.shown(
        curve_view.at_round_ages(drawn.drop("group"), by, groups).select(
            pl.col("group").alias("Group"),
            pl.col("wanted").alias("Age of the machine (years)"),
            pl.col("mean_failures").alias("Failures so far"),
            pl.col("mean_failures_low").alias("at least"),
            pl.col("mean_failures_high").alias("at most"),
            pl.col("at_risk").alias("Machines watched"),
        ),
        "failures-again",
        hide_index=True,
        alt="Mean number of failures of a machine at round ages, with limits",
        placeholder="none",
        column_config={
            "Group": PINNED,
            "Age of the machine (years)": NO_DECIMALS,
            "Machines watched": NO_DECIMALS,
            **dict.fromkeys(("Failures so far", "at least", "at most"), _TWO_DECIMALS),
        },
    )
