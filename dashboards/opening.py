"""A word where a page will stand, until it does: the first time it takes long to come."""

from collections.abc import Iterator
from contextlib import contextmanager

import streamlit as st

_SEEN = "pages_seen"


@contextmanager
def said(title: str) -> Iterator[None]:
    """Say above a page that it is coming; not where this reader has seen it before, as a line that
    comes and goes would make the page jump at each touch.
    """
    seen = st.session_state.setdefault(_SEEN, set())
    # Its place is taken at each run: were it not, all that stands below would move up by one at
    # the second, and a browser takes a fold that has moved for another, and closes it.
    word = st.empty()
    if title in seen:
        yield
        return
    word.caption(
        f":material/hourglass: Opening {title}: the records are read and reckoned with. The first "
        "time takes about half a minute."
    )
    try:
        yield
        seen.add(title)
    finally:
        word.empty()
