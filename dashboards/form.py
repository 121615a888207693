"""The fields of a report: which are asked for, what was typed, and whether it can be."""

import re
from collections.abc import Iterator, Sequence
from datetime import date

import access
import address
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet.flow.entering import read_date
from fleet.flow.part_code import code_hint

_ALL = "all"
_DATES = {"date": "Date", "last_known_working": "Last known working"}
_OFTEN_KEPT = ("date", "by")  # the next machine of a roll call has the same
_EMPTIED = frozenset(field for names in words.FIELDS.values() for field in names) | {
    "notes",
    "readings",
}


def key(field: str) -> str:
    """The session key that holds what was typed in a field."""
    return f"log_{field}"


def text(field: str) -> str:
    """What was typed in a field, without blanks around it."""
    return str(st.session_state.get(key(field)) or "").strip()


def fields(kind: str) -> dict[str, str]:
    """The report as record columns and their text; only fields that the kind asks for."""
    state = st.session_state
    out = {"date": text("date")}
    for field in words.FIELDS[kind]:
        if field == "found_dead":
            out[field] = "yes" if state.get(key(field)) else ""
        elif field == "positions":
            out[field] = ";".join(state.get(key(field)) or ())
        else:
            out[field] = text(field)
    return {name: value for name, value in {**out, "notes": text("notes")}.items() if value}


def clear() -> None:
    """Empty the form after a save, but for what the next report is likely to share."""
    for field in _EMPTIED:
        st.session_state.pop(key(field), None)
    st.session_state["log_taken_back"] = None


def hold_draft() -> None:
    """Set every field again to what it holds.

    A field drawn for the first time on a page, or again after another kind of report was chosen,
    returns its default on that run unless its value was set. Not done on every run: it would
    write over what is just being typed.
    """
    for name in ("kind", *_OFTEN_KEPT, *_EMPTIED):
        if key(name) in st.session_state:
            st.session_state[key(name)] = st.session_state[key(name)]


def choose_unit(last: pl.DataFrame) -> str | None:
    """The machine, found by any part of its name, model or last report."""
    labels = {
        unit: f"{unit} · {model} · {_seen(when, kind)}"
        for unit, model, when, kind in last.select("unit", "model", "date", "kind").iter_rows()
    }
    chosen = st.selectbox(
        "Machine",
        list(labels),
        index=None,
        format_func=lambda unit: labels.get(unit, str(unit)),
        filter_mode="contains",
        placeholder="type any part of its name or model",
        help="Each with its model and its last report.",
        **{**address.choice("unit", list(labels), None), "on_change": _unit_chosen, "args": ()},
    )
    return None if chosen is None else str(chosen)


def _unit_chosen() -> None:
    address.write("unit")
    st.session_state["log_conflict"] = st.session_state["log_error"] = None


def choose_kind() -> str:
    """What kind of report, in plain words."""
    chosen = st.radio(
        "What happened",
        list(words.KINDS),
        format_func=lambda k: words.KINDS[k],
        key="log_kind",
        persist_state="session",
        on_change=hold_draft,
    )
    return str(chosen)


def ask(kind: str, place: shared.Place, model: str) -> bool:
    """Draw the fields of a kind of report; whether what they hold can be saved."""
    st.session_state.setdefault(key("date"), place.today.isoformat())
    asked = words.FIELDS[kind]
    ready = True
    # Row by row, so that a phone shows the fields in the order they are asked.
    for row in _in_pairs(("date", *asked)):
        for cell, field in zip(st.columns(2, vertical_alignment="top"), row, strict=False):
            with cell:
                if field in _DATES:
                    ready &= _ask_date(field, _DATES[field], place, needed=field == "date")
                else:
                    _FIELDS[field](place, model, kind)
    st.text_area("Notes", key=key("notes"), persist_state="session", height=80)
    signed = access.signed_by()
    if signed:
        st.caption(f"Kept under the name you are signed in with, {signed}.")
    else:
        st.text_input(
            "Who reports it",
            key=key("by"),
            persist_state="session",
            placeholder="a name or initials",
            autocomplete="name",
        )
    return ready


def _ask_date(field: str, label: str, place: shared.Place, *, needed: bool) -> bool:
    typed = st.text_input(
        label,
        key=key(field),
        persist_state="session",
        live="300ms",
        placeholder="2024-07-14, 2024-07 or 2024" if needed else "blank: not known",
        help="As exact as it is known: 2024-07-14, 2024-07, 2024, 2024-07~ (about), 202X, "
        "2022/2024 (some time between).",
    ).strip()
    if not typed:
        if needed:
            st.caption(":material/error: :red[A date is needed; a year is enough.]")
        return not needed
    earliest, latest, wrong = read_date(typed)
    if wrong:
        st.caption(f":material/error: :red[{wrong}]")
        return False
    if earliest is not None and earliest > place.today:
        st.caption(":material/error: :red[That day is still to come; reports are of the past.]")
        return False
    st.caption(f":material/check: that is {words.day_range(earliest, _past(latest, place.today))}")
    return True


def _past(latest: date | None, today: date) -> date | None:
    return None if latest is None else min(latest, today)


def _ask_cause(place: shared.Place, model: str, kind: str) -> None:
    st.selectbox(
        "Cause",
        list(words.CAUSES),
        format_func=lambda c: words.CAUSES[c],
        key=key("cause"),
        persist_state="session",
        help="Not known is an answer: it is shared out as the known causes are.",
    )


def _ask_because(place: shared.Place, model: str, kind: str) -> None:
    st.selectbox(
        "Why",
        list(words.BECAUSE),
        format_func=lambda b: words.BECAUSE[b],
        key=key("because"),
        persist_state="session",
    )


def _ask_positions(place: shared.Place, model: str, kind: str) -> None:
    known = reads.records(place.key, "positions").filter(model=model)["position"].sort().to_list()
    st.multiselect(
        "Positions replaced" if kind == "recapped" else "Positions suspected",
        [_ALL, *dict.fromkeys(known)],
        key=key("positions"),
        persist_state="session",
        accept_new_options=True,
        placeholder="blank: all of them (with readings: say which)"
        if kind == "recapped"
        else "such as C7",
    )


def _ask_batch(place: shared.Place, model: str, kind: str) -> None:
    known = reads.records(place.key, "batches")["batch"].unique().sort().to_list()
    st.selectbox(
        "Batch of the parts fitted",
        known,
        index=None,
        key=key("batch"),
        persist_state="session",
        filter_mode="contains",
        accept_new_options=True,
        placeholder="blank: not known",
    )
    _read_date_code(text("batch"), place)


def _read_date_code(batch: str, place: shared.Place) -> None:
    """What the date code of the batch can mean: as recorded, else the end of its name."""
    if not batch:
        return
    kept = reads.records(place.key, "batches").filter(batch=batch)["date_code"].drop_nulls()
    code = str(kept[-1]) if kept.len() else re.split(r"[-_/ ]", batch)[-1]
    if not re.search(r"\d", code):
        return
    hint = code_hint(code, today=place.today)
    st.caption(f":material/calendar_month: date code {code}: {hint}")


def _ask_symptom(place: shared.Place, model: str, kind: str) -> None:
    st.text_input(
        "Symptom", key=key("symptom"), persist_state="session", placeholder="such as: no display"
    )


def _ask_cured(place: shared.Place, model: str, kind: str) -> None:
    st.selectbox(
        "Does it work now?",
        list(words.CURED),
        format_func=lambda c: words.CURED[c],
        key=key("cured"),
        persist_state="session",
        help="After no, the machine counts as not working until it is reported working.",
    )


def _ask_found_dead(place: shared.Place, model: str, kind: str) -> None:
    st.checkbox(
        "It was found dead: nobody saw it fail",
        key=key("found_dead"),
        persist_state="session",
        help="Then it may have failed any time since it was last known to work.",
    )


def _in_pairs(names: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(names), 2):
        yield names[start : start + 2]


def _seen(when: str | None, kind: str | None) -> str:
    if when is None or kind is None:
        return "no report yet"
    return f"{words.KINDS.get(kind, kind).lower()}, {when}"


_FIELDS = {
    "cause": _ask_cause,
    "because": _ask_because,
    "positions": _ask_positions,
    "batch": _ask_batch,
    "symptom": _ask_symptom,
    "found_dead": _ask_found_dead,
    "cured": _ask_cured,
}
