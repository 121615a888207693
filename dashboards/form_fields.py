"""The fields of a report: those its kind asks for, the seldom used ones folded away."""

import re
from collections.abc import Callable, Sequence

import access
import form
import form_date
import form_photos
import form_readings
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet.flow.bench_places import natural
from fleet.flow.part_code import code_readings

_ALL = "all"
_TAPPED = 30  # places of a model that are offered to be tapped; of more, a list
_SELDOM = ("last_known_working", "found_dead")


def ask(kind: str, place: shared.Place, units: Sequence[str], models: Sequence[str]) -> list[str]:
    """Draw the fields of a kind of report; what keeps it from being saved, each in a few words.

    Of one machine readings and photos can go with it.
    """
    st.session_state.setdefault(form.key("date"), place.today.isoformat())
    lacks = []
    if not form_date.ask(form.key("date"), "Date", place, near=True):
        lacks.append("the date")
    asked = words.FIELDS[kind]
    for field in asked:
        if field not in _SELDOM:
            _FIELDS[field](place, models, kind)
    if kind == "failed" and st.session_state.get(form.key("cause")) is None:
        lacks.append("tap the cause; not known is an answer too")
    if len(units) == 1:
        lacks += form_readings.ask(kind, place, units[0], models[0])
        if not form_photos.ask():
            lacks.append("a photo cannot be kept")
    _open_if_it_holds_something()
    with st.expander("More to say", icon=":material/notes:", key="log_more", on_change="rerun"):
        if not _ask_more(asked, place):
            lacks.append("the day it was last known to work")
    _ask_who()
    return lacks


def _open_if_it_holds_something() -> None:
    """The fold is open where it held something when it was first drawn; then as somebody left it.

    Its fields are drawn while it is closed too: a date in it may keep the report from being saved.
    """
    state = st.session_state
    told = ("other_positions", "notes", *_SELDOM)
    state.setdefault("log_more", any(state.get(form.key(name)) for name in told))


def _ask_more(asked: Sequence[str], place: shared.Place) -> bool:
    ready = True
    if "last_known_working" in asked:
        ready = form_date.ask(
            form.key("last_known_working"), "Last known working", place, near=False
        )
    if "found_dead" in asked:
        st.checkbox(
            "It was found dead: nobody saw it fail",
            key=form.key("found_dead"),
            persist_state="session",
            help="Then it may have failed any time since it was last known to work.",
        )
    if "positions" in asked:
        st.text_input(
            "Positions that are not offered above",
            key=form.key("other_positions"),
            persist_state="session",
            live="500ms",
            placeholder="such as C12; C14",
        )
    st.text_area("Notes", key=form.key("notes"), persist_state="session", height=80)
    return ready


def _ask_who() -> None:
    signed = access.signed_by()
    if signed:
        st.caption(f"Kept under the name you are signed in with, {words.escaped(signed)}.")
        return
    st.text_input(
        "Who reports it",
        key=form.key("by"),
        persist_state="session",
        live="500ms",
        placeholder="a name or initials",
        autocomplete="name",
    )


def _tap(
    field: str,
    label: str,
    options: dict[str, str],
    *,
    needed: bool = False,
    help: str | None = None,
) -> None:
    """One of a few answers; the first until another is tapped, none where a tap is `needed`."""
    if not needed and st.session_state.get(form.key(field)) is None:
        st.session_state[form.key(field)] = next(iter(options))
    st.pills(
        label,
        list(options),
        required=True,
        format_func=options.__getitem__,
        key=form.key(field),
        persist_state="session",
        help=help,
    )


def _ask_cause(place: shared.Place, models: Sequence[str], kind: str) -> None:
    _tap(
        "cause",
        "Cause",
        dict(words.CAUSES),
        needed=kind == "failed",
        help="Not known is an answer: it is shared out as the known causes are.",
    )


def _ask_because(place: shared.Place, models: Sequence[str], kind: str) -> None:
    _tap("because", "Why", dict(words.BECAUSE))


def _ask_cured(place: shared.Place, models: Sequence[str], kind: str) -> None:
    _tap(
        "cured",
        "Does it work now?",
        dict(words.CURED),
        help="After no, the machine counts as not working until it is reported working.",
    )


def _ask_positions(place: shared.Place, models: Sequence[str], kind: str) -> None:
    places = reads.records(place.key, "positions").filter(pl.col("model").is_in(list(models)))
    known = sorted(dict.fromkeys(places["position"].to_list()), key=natural)
    label = "Positions replaced" if kind == "recapped" else "Positions suspected"
    held = st.session_state.get(form.key("positions")) or []
    options = list(dict.fromkeys([_ALL, *known, *held]))
    about = "None tapped: all of them (with readings: say which)." if kind == "recapped" else None
    if len(options) <= _TAPPED:
        st.pills(
            label,
            options,
            selection_mode="multi",
            key=form.key("positions"),
            persist_state="session",
            help=about,
        )
    else:
        st.multiselect(
            label, options, key=form.key("positions"), persist_state="session", help=about
        )


def _ask_batch(place: shared.Place, models: Sequence[str], kind: str) -> None:
    known = reads.records(place.key, "batches")["batch"].unique().sort().to_list()
    st.selectbox(
        "Batch of the parts fitted",
        known,
        index=None,
        key=form.key("batch"),
        persist_state="session",
        filter_mode="contains",
        accept_new_options=True,
        placeholder="blank: not known",
        help="One on record, or a new name that ends in the date code on the can.",
    )
    _read_date_code(form.text("batch"), place)


def _read_date_code(batch: str, place: shared.Place) -> None:
    """Every reading of the date code of the batch: as recorded, else the end of its name."""
    if not batch:
        return
    kept = reads.records(place.key, "batches").filter(batch=batch)["date_code"].drop_nulls()
    code = str(kept[-1]) if kept.len() else re.split(r"[-_/ ]", batch)[-1]
    if re.search(r"\d", code):
        said = "; ".join(code_readings(code, today=place.today))
        st.caption(
            f":material/calendar_month: date code {words.escaped(code)}: {words.escaped(said)}"
        )


def _ask_symptom(place: shared.Place, models: Sequence[str], kind: str) -> None:
    st.text_input(
        "Symptom",
        key=form.key("symptom"),
        persist_state="session",
        live="500ms",  # so that the draft has it
        placeholder="such as: no display",
    )


_FIELDS: dict[str, Callable[[shared.Place, Sequence[str], str], None]] = {
    "cause": _ask_cause,
    "because": _ask_because,
    "positions": _ask_positions,
    "batch": _ask_batch,
    "symptom": _ask_symptom,
    "cured": _ask_cured,
}
