"""A day as somebody knows it: today or yesterday in one tap, else typed and read back at once."""

from datetime import date, timedelta

import shared
import streamlit as st
import words

from fleet.flow.entering import read_date

_NEAR = {"today": "Today", "yesterday": "Yesterday"}
_HELP = (
    "As exact as it is known: 2024-07-14, 2024-07, 2024, 2024-07~ (about), 202X, "
    "2022/2024 (some time between)."
)


def ask(key: str, label: str, place: shared.Place, *, near: bool) -> bool:
    """Draw a date, needed where `near` days are offered; whether what it holds can be saved."""
    if near:
        _offer_near_days(key, place.today)
    typed = st.text_input(
        label,
        key=key,
        persist_state="session",
        live="300ms",
        placeholder="2024-07-14, 2024-07 or 2024" if near else "blank: not known",
        help=None if near else _HELP,
        label_visibility="collapsed" if near else "visible",
    ).strip()
    return read_back(typed, place.today, needed=near)


def read_back(typed: str, today: date, *, needed: bool) -> bool:
    """Say which days a typed date means, or what is wrong with it; whether it can be saved."""
    if not typed:
        if needed:
            st.caption(":material/error: :red[A date is needed; a year is enough.]")
        return not needed
    earliest, latest, wrong = read_date(typed)
    if wrong:
        st.caption(f":material/error: :red[{words.escaped(wrong)}]")
        return False
    if earliest is not None and earliest > today:
        st.caption(":material/error: :red[That day is still to come; reports are of the past.]")
        return False
    last = None if latest is None else min(latest, today)
    st.caption(f":material/check: that is {words.day_range(earliest, last)}")
    return True


def _offer_near_days(key: str, today: date) -> None:
    state, near = st.session_state, f"{key}_near"
    days = {"today": today.isoformat(), "yesterday": (today - timedelta(days=1)).isoformat()}
    # Shown as chosen only while the text says that day.
    state[near] = next((name for name, day in days.items() if state.get(key) == day), None)

    def put() -> None:
        if state[near] is not None:
            state[key] = days[state[near]]

    st.pills(
        "When it was",
        list(_NEAR),
        format_func=_NEAR.__getitem__,
        key=near,
        on_change=put,
        help=_HELP,
    )
