"""Choices kept in the page's address, so that it can be shared, and from page to page.

Each function prepares one choice before its widget is drawn, and returns the widget's arguments:
`st.selectbox("Level", levels, **address.choice("level", levels, 0.95))`. What the address says
wins, if it can be; else what was chosen before, else the default, which the address leaves out.
What it says and cannot be is said at the head of the page (`say_refused_here`).

Not Streamlit's own binding: that writes labels into the address, and on the first run after a
change of page it draws what the address says but computes with the default.
"""

import math
from collections.abc import Callable, Collection, Sequence
from datetime import date
from typing import Any

import streamlit as st
import words

_DEFAULTS = "address_defaults"
_REFUSED, _HEAD = "address_refused", "address_head"
_LONGEST = 40  # signs of what an address said
_MOST = 5  # things a list of an address asked for


def choice(
    name: str, options: Sequence[object], default: object, *, lacks: str = ""
) -> dict[str, Any]:
    """One of `options`; `default` may be None for none.

    `lacks`: what is said of another that the address names, at {}.
    """
    by_text = {str(option): option for option in options}

    def read(told: list[str]) -> object:
        return by_text.get(told[-1])

    return _keep(name, default, read, lambda v: str(v) in by_text, lacks=lacks)


def several(name: str, options: Sequence[str], default: Sequence[str] = ()) -> dict[str, Any]:
    """Any of `options`, also none of them."""
    known = set(options)

    def read(told: list[str]) -> list[str] | None:
        wanted = [text for text in told if text in known]
        return wanted if wanted or told == [""] else None

    return _keep(name, list(default), read, lambda values: set(values) <= known, known=known)


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
        said=False,
    )
    return {key: kept[key] for key in ("key", "on_change", "args")}


def put(name: str, value: object) -> None:
    """Change a choice from a callback."""
    st.session_state[name] = value
    write(name)


def write(name: str) -> None:
    """Bring the address up to date with a choice that somebody made."""
    st.session_state.get(_REFUSED, {}).pop(name, None)
    _write(name)


def say_refused_here(*, arrived: bool) -> None:
    """Keep a place at the head of the page for what its address asks for and cannot be.

    `arrived`: on this page just now; what another page could not show is forgotten.
    """
    if arrived or _REFUSED not in st.session_state:
        st.session_state[_REFUSED] = {}
    st.session_state[_HEAD] = st.container()


def _write(name: str) -> None:
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
    *,
    lacks: str = "",
    said: bool = True,
    known: Collection[str] | None = None,
) -> dict[str, Any]:
    state = st.session_state
    state[_DEFAULTS] = {**state.get(_DEFAULTS, {}), name: default}
    told = st.query_params.get_all(name)
    value = read(told) if told else None
    refused = [one for one in told if value is None or (known is not None and one not in known)]
    if value is None:
        value = state.get(name)
        if value is None or not fits(value):
            value = default
    # Set it even where it is there already: a widget drawn for the first time on a page returns
    # its own default on that run, whatever was kept for it, unless its value was set.
    state[name] = value
    _write(name)
    if said:
        _say(name, [text for text in refused if text], value, lacks)
    return {"key": name, "persist_state": "session", "on_change": write, "args": (name,)}


def _shortened(texts: Sequence[str]) -> str:
    """What an address said, of many the first few, each of them to so many signs."""
    first = [text if len(text) <= _LONGEST else f"{text[:_LONGEST]}…" for text in texts[:_MOST]]
    more = len(texts) - _MOST
    return ", ".join(first) + (f" and {more} more" if more > 0 else "")


def _say(name: str, told: Sequence[str], value: object, lacks: str) -> None:
    """Say what the address asked for in vain, until somebody chooses or goes to another page."""
    refused = st.session_state.get(_REFUSED)
    if refused is None or _HEAD not in st.session_state:
        return
    if told:
        each = told if isinstance(value, list) else told[-1:]
        text = _shortened(each)
        instead = ", ".join(map(str, value)) if isinstance(value, list) else value
        shown = f"it shows {instead}" if instead not in (None, "") else "nothing is chosen for it"
        asked = f"The address asks for {name}={text}, which this page cannot show: {shown}."
        refused[name] = lacks.replace("{}", text) if lacks else asked
    if name in refused:
        head = st.session_state[_HEAD]
        head.markdown(f":material/link_off: {words.escaped(refused[name])}")
