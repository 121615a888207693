"""Choices kept in the page's address, so that it can be shared, and from page to page.

Each function prepares one choice before its widget is drawn, and returns the widget's arguments:
`st.selectbox("Level", levels, **address.choice("level", levels, 0.95))`. What the address says
wins, if it can be; else what was chosen before, else the default, which the address leaves out.

Not Streamlit's own binding: that writes labels into the address, and on the first run after a
change of page it draws what the address says but computes with the default.
"""

import math
from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

import streamlit as st

_DEFAULTS = "address_defaults"


def choice(name: str, options: Sequence[object], default: object) -> dict[str, Any]:
    """One of `options`; `default` may be None for none."""
    by_text = {str(option): option for option in options}
    return _keep(name, default, lambda told: by_text.get(told[-1]), lambda v: str(v) in by_text)


def several(name: str, options: Sequence[str], default: Sequence[str] = ()) -> dict[str, Any]:
    """Any of `options`, also none of them."""
    known = set(options)

    def read(told: list[str]) -> list[str] | None:
        wanted = [text for text in told if text in known]
        return wanted if wanted or told == [""] else None

    return _keep(name, list(default), read, lambda values: set(values) <= known)


def number(name: str, low: float, high: float, default: float | None) -> dict[str, Any]:
    """A number from `low` to `high`; `default` may be None for none.

    Whole where both limits are whole numbers in Python (int): 3, and not 3.0.
    """
    whole = isinstance(low, int) and isinstance(high, int)

    def read(told: list[str]) -> float | None:
        try:
            value = float(told[-1])
        except ValueError:
            return None
        if not math.isfinite(value) or not low <= value <= high:
            return None
        if whole and not value.is_integer():
            return None
        return int(value) if whole else value

    def fits(value: float) -> bool:
        return low <= value <= high and (not whole or isinstance(value, int))

    return _keep(name, default, read, fits)


def text(name: str, most: int = 200) -> dict[str, Any]:
    """What somebody typed, up to `most` signs; blank is left out of the address."""
    return _keep(name, "", lambda told: told[-1][:most], lambda value: isinstance(value, str))


def day(name: str, first: date, last: date, default: date) -> dict[str, Any]:
    """A day from `first` to `last`."""

    def read(told: list[str]) -> date | None:
        try:
            value = date.fromisoformat(told[-1])
        except ValueError:
            return None
        return value if first <= value <= last else None

    return _keep(name, default, read, lambda value: first <= value <= last)


def opened(name: str) -> dict[str, Any]:
    """Whether a section that folds away is open; it is closed again on coming back to the page."""
    kept = _keep(
        name,
        False,
        lambda told: True if told[-1] == "True" else None,
        lambda value: isinstance(value, bool),
    )
    return {key: kept[key] for key in ("key", "on_change", "args")}


def put(name: str, value: object) -> None:
    """Change a choice from a callback."""
    st.session_state[name] = value
    write(name)


def write(name: str) -> None:
    """Bring the address up to date with a choice."""
    value = st.session_state.get(name)
    if value == st.session_state.get(_DEFAULTS, {}).get(name):
        st.query_params.pop(name, None)
        return
    texts = [str(v) for v in value] if isinstance(value, list) else [str(value)]
    wanted = texts or [""]
    if st.query_params.get_all(name) != wanted:
        st.query_params[name] = wanted


def _keep(
    name: str,
    default: object,
    read: Callable[[list[str]], Any],
    fits: Callable[[Any], bool],
) -> dict[str, Any]:
    state = st.session_state
    state[_DEFAULTS] = {**state.get(_DEFAULTS, {}), name: default}
    told = st.query_params.get_all(name)
    value = read(told) if told else None
    if value is None:
        value = state.get(name)
        if value is None or not fits(value):
            value = default
    # Set it even where it is there already: a widget drawn for the first time on a page returns
    # its own default on that run, whatever was kept for it, unless its value was set.
    state[name] = value
    write(name)
    return {"key": name, "persist_state": "session", "on_change": write, "args": (name,)}
