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
    typed = st.text_input(
        label,
        key=key,
        persist_state="session",
        live="300ms",
        placeholder="2024-07-14, 2024-07 or 2024" if near else "blank: not known",
        help=_HELP,
    ).strip()
    if near:
        _offer_near_days(key, place.today)
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
    """One tap each, with a mark where the text says that day.

    Buttons, not one choice of several: a browser that is slow to draw sends along what it shows as
    chosen, which may lag behind the text, and would be taken for a tap on that day.
    """
    state = st.session_state
    days = {"today": today, "yesterday": today - timedelta(days=1)}

    def put(day: str) -> None:
        state[key] = day

    with st.container(horizontal=True, gap="xsmall"):
        for name, day in days.items():
            said = state.get(key) == day.isoformat()
            st.button(
                _NEAR[name],
                key=f"{key}_{name}",
                icon=":material/check:" if said else None,
                on_click=put,
                args=(day.isoformat(),),
            )
