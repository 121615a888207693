import altair  # noqa: F401 - loaded once with the first page, so that later ones open quicker
import due_charts
import due_expected
import due_filter
import due_table
import polars as pl
import reads
import shared
import streamlit as st
import words
from due_choice import choose


def main() -> None:
    """The due list: what to do with every working unit, the most urgent first."""
    place = shared.open_page("Due list", "Which machines should get new capacitors, when, and why.")
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        offers = reads.records(place.key, "offers")
        choice = choose(offers["part"].unique().sort().to_list())
        frame, notes = reads.due(place.key, place.as_of, choice)
        if frame.is_empty():
            _nothing_works(place)
            return
        shown = due_filter.choose(frame, rule=choice.policy.rule)
        _say(shown, frame, place)
        if not shown.is_empty():
            due_table.draw(shown, choice, place)
            due_charts.draw(shown, place)
        due_expected.draw(place, st.session_state.get("model", []), share=choice.share)
    shared.show_notes(notes)


def _nothing_works(place: shared.Place) -> None:
    st.info(
        f"No machine was known to be working on {words.day(place.as_of)}, so that nothing is due. "
        "A machine comes on this list when somebody reports it working.",
        icon=":material/search:",
    )
    st.page_link("views/log.py", label="Log a report", icon=":material/edit_note:")


def _say(shown: pl.DataFrame, frame: pl.DataFrame, place: shared.Place) -> None:
    if shown.is_empty():
        st.info("No working machine matches these choices; take one away.")
        return
    of = "" if shown.height == frame.height else f" of {frame.height:,}"
    st.caption(
        f"{words.counted(shown.height, 'working machine')}{of}, as known on "
        f"{words.day(place.as_of)}."
    )


main()
