"""The draft of a report, kept by the browser's own tab: it outlives a reload and a server that was
started anew, is sent to nobody else, and is gone when the tab is closed. The name of who reports
is kept by the browser, for the next report.
"""

import json
from collections.abc import Callable
from functools import cache
from typing import Any

import address
import form
import form_photos
import streamlit as st

_STORE = "fleet-log-draft"
_WHO = "fleet-log-by"
_MOST = 20_000  # signs; more is no draft of ours
_CHOICES = ("log_kind", "unit", "log_many", "log_units", "log_names")

_JS = """
export default function({ data, setStateValue }) {
    if (data.ask) {
        let told = {};
        try {
            told = JSON.parse(sessionStorage.getItem(data.store) || "{}");
        } catch { /* no draft of ours */ }
        setStateValue("told", JSON.stringify({ ...told, by: localStorage.getItem(data.who) }));
    } else {
        sessionStorage.setItem(data.store, data.draft);
        if (data.by) {
            localStorage.setItem(data.who, data.by);
        }
    }
}
"""


@cache
def _component() -> Callable[..., Any]:
    return st.components.v2.component("fleet_log_draft", js=_JS)


def keep() -> None:
    """Ask the tab for what it kept, once in a session; from then on let it keep what is typed."""
    ask = not st.session_state.get("log_draft_asked")
    _component()(
        key="log_draft",
        data={
            "ask": ask,
            "store": _STORE,
            "draft": "" if ask else _written(),
            "who": _WHO,
            "by": "" if ask else form.text("by"),
        },
        on_told_change=_told,
        height=0,
    )
    if st.session_state.get("log_draft_taken"):
        with st.container(horizontal=True, vertical_alignment="center"):
            st.caption(":material/history: What was typed before is here again.")
            st.button("Empty the form", type="tertiary", key="log_draft_drop", on_click=_drop)


def _written() -> str:
    state = st.session_state
    choices = {name: state[name] for name in _CHOICES if state.get(name)}
    fields = form.held()
    # A date and a name alone are what every form holds.
    if not any(name not in form.OFTEN_KEPT for name in fields):
        fields = {name: text for name, text in fields.items() if name == "by"}
    return json.dumps({"choices": choices, "fields": fields, "photos": form_photos.names()})


def _told() -> None:
    """The tab has said what it kept: fill the form, but for what was chosen since or by address."""
    state = st.session_state
    state["log_draft_asked"] = True
    try:
        draft = json.loads(str(state["log_draft"].get("told") or "{}")[:_MOST])
        choices, fields = dict(draft.get("choices", {})), dict(draft.get("fields", {}))
        photos = [str(name) for name in draft.get("photos") or ()]
    except (ValueError, TypeError, AttributeError):
        return
    if isinstance(draft.get("by"), str) and not form.text("by"):
        state[form.key("by")] = draft["by"]
    elsewhere = state.get("unit") and choices.get("unit") not in (None, state["unit"])
    if form.held().keys() - set(form.OFTEN_KEPT) or elsewhere:
        return
    for name, value in choices.items():
        if name in _CHOICES and not state.get(name):
            if name in ("unit", "log_kind"):
                address.put(name, value)
            else:
                state[name] = value
    form.take_up(fields)
    form_photos.take_up(photos)
    state["log_draft_taken"] = bool(photos or fields.keys() - set(form.OFTEN_KEPT))
    state.pop("log_more", None)


def _drop() -> None:
    form.clear()
    form_photos.empty()
    form.forget_refusals()
    st.session_state["log_draft_taken"] = False
