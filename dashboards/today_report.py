"""The group report: the section of the page Today that makes it."""

import address
import shared
import streamlit as st
import today_reads


def draw(place: shared.Place) -> None:
    """Made only when asked for: it answers every question of the pages once."""
    st.header("Report for the group", anchor=False)
    st.markdown(
        "One page to print or send: due list, failures to expect, curves, batches, plan and order, "
        "each with its sentences. Sites, serial numbers and notes are not in it."
    )
    whole = st.toggle(
        "With data health and how well past advice did; that takes longest",
        **address.opened("report_whole"),
    )
    if not st.toggle("Make the report", **address.opened("report")):
        return
    page = today_reads.report(place.key, place.as_of, quick=not whole)
    st.download_button(
        "Download the report (HTML)",
        page,
        file_name=f"group-report-{place.as_of.isoformat()}.html",
        mime="text/html",
        icon=":material/download:",
        on_click="ignore",
        help="Open it in any browser and print it, on A4 or Letter.",
    )
    st.iframe(page, height=700, alt="The group report")
