import access
import amend_form
import choose_machine
import form_photos
import private_notes
import reads
import shared
import streamlit as st
import unit_due
import unit_history
import unit_lives
import unit_reads
import unit_trail
import words

from fleet.flow.one_machine import OneMachine

_WAYS = (
    ("log", "Log {}", ":material/edit_note:"),
    ("sheet", "Sheet {}", ":material/print:"),
    ("choose", "Keep or replace {}", ":material/balance:"),
)


def main() -> None:
    """One machine: when it is due, its lives, its history, its readings, and mending a report."""
    place = shared.open_page(
        "One machine", "All that is known of a machine, from birth to now, and what to do next."
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        amend_form.what_happened(place)
        unit = choose_machine.choose(reads.last_reports(place.key))
        if unit is None:
            st.info(
                "Choose a machine: type any part of its name or serial number.",
                icon=":material/search:",
            )
            return
        _draw(place, unit)


def _draw(place: shared.Place, unit: str) -> None:
    found = unit_reads.machine(place.key, place.as_of, unit)
    _head(found)
    # The due list takes longest: what needs it has its place kept, and is filled at the end.
    due = st.container()
    _ways(found)
    unit_history.disagreements(found)
    lives = st.container()
    unit_history.history(found)
    _photos(found, place)
    unit_history.readings(found)
    private_notes.draw(place, unit)
    unit_trail.draw(found, place)
    if access.person().may("log"):
        amend_form.draw(place, found)
    row = None
    with due, shared.section():
        row = unit_reads.due_row(place.key, place.as_of, unit)
        unit_due.draw(found, row)
    with lives:
        unit_lives.draw(found, place, row)


def _head(found: OneMachine) -> None:
    st.header(words.escaped(found.unit), anchor=False)
    st.markdown(" · ".join(f"{label}: **{words.escaped(text)}**" for label, text in found.facts))
    if found.notes and access.person().may("log"):
        st.markdown(f"Notes: {words.escaped(found.notes)}")


def _ways(found: OneMachine) -> None:
    """The pages that follow; below what is to be known before a machine is opened."""
    with st.container(horizontal=True, gap="xxsmall"):
        for view, label, icon in _WAYS:
            if view != "log" or access.person().may("log"):
                st.page_link(
                    f"views/{view}.py",
                    label=words.escaped(label.format(found.unit)),
                    icon=icon,
                    query_params={"unit": found.unit},
                )
        st.page_link("views/due.py", label="Due list", icon=":material/list:")


def _photos(found: OneMachine, place: shared.Place) -> None:
    """Photos of its reports that count on the day shown."""
    ours = unit_reads.reports_with_photos(place.key, place.as_of, found.unit)
    if ours.is_empty():
        return
    st.header("Photos", anchor=False)
    form_photos.show(place.key, ours)


main()
