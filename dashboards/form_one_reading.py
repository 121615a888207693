"""The readings of one place in fields of their own, put into the text as a line."""

from collections.abc import Sequence

import address
import form
import streamlit as st

_TOOK = "log_one_"
_FIELDS = {
    "volts_positive": ("Volts at +", "12.1"),
    "volts_negative": ("Volts at −", "0.02"),
    "esr": ("ESR", "4.1 ohm"),
    "capacitance": ("Capacitance", "470 µF"),
}
_STAGES = {"before": "Before", "after": "After"}


def offer(names: Sequence[str]) -> None:
    """Draw the fields, folded away, for one of the places `names` or another."""
    # Drawn while it is closed too: fields that are not drawn forget what was typed in them.
    with st.expander("One place at a time", icon=":material/input:", **address.opened("one_place")):
        st.caption(
            "Volts are read twice, from the board's ground to each end of the capacitor, the end "
            "marked + first. Leave blank what was not measured."
        )
        st.selectbox(
            "Place",
            list(names),
            index=None,
            key=f"{_TOOK}place",
            accept_new_options=True,
            placeholder="such as C1",
        )
        for stage, label in _STAGES.items():
            with st.container(horizontal=True, vertical_alignment="bottom"):
                for field, (name, example) in _FIELDS.items():
                    st.text_input(
                        f"{label}: {name}",
                        key=f"{_TOOK}{stage}_{field}",
                        placeholder=example,
                        width=150,
                    )
        st.button("Add this line", icon=":material/add:", key=f"{_TOOK}add", on_click=_add)
        if st.session_state.get(f"{_TOOK}lacks"):
            st.caption(f":material/error: :red[{st.session_state[f'{_TOOK}lacks']}]")


def line(place: str, told: dict[str, dict[str, str]]) -> str:
    """The line of a place; `told`: by stage, what was typed in each field."""
    parts = [place]
    for stage, fields in told.items():
        words = [_volts(fields), _unit(fields["esr"], "ohm"), _unit(fields["capacitance"], "uF")]
        if any(words):
            parts += [stage, *(word for word in words if word)]
    return " ".join(parts)


def _volts(fields: dict[str, str]) -> str:
    at = [fields[end].rstrip("vV ") for end in ("volts_positive", "volts_negative")]
    if at[0] and at[1]:
        return f"{at[0]}/{at[1]}V"
    if at[0]:
        return f"{at[0]}V"
    return f"volts_negative={at[1]}" if at[1] else ""


def _unit(text: str, unit: str) -> str:
    """A number alone takes the unit that the field asks for."""
    number = text.replace(",", ".").replace(".", "", 1)
    return f"{text}{unit}" if number.isdigit() else text


def _add() -> None:
    """Put the line behind what is there, and empty the fields for the next place."""
    state = st.session_state
    place = str(state.get(f"{_TOOK}place") or "").replace(" ", "")
    told = {
        stage: {field: str(state.get(f"{_TOOK}{stage}_{field}") or "").strip() for field in _FIELDS}
        for stage in _STAGES
    }
    state[f"{_TOOK}lacks"] = None
    if not place or not any(text for fields in told.values() for text in fields.values()):
        state[f"{_TOOK}lacks"] = "Say which place, and one reading at least."
        return
    held = form.text("readings")
    state[form.key("readings")] = "\n".join(part for part in (held, line(place, told)) if part)
    state[f"{_TOOK}place"] = None
    for stage in _STAGES:
        for field in _FIELDS:
            state[f"{_TOOK}{stage}_{field}"] = ""
