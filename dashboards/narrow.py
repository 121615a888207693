"""A table told a second time for a phone: line by line, in place of columns off to the right.

Both are on the page; which of them is shown `look.css` decides by the width of the screen.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import streamlit as st
import words

_MOST = 50  # lines; of more a phone shows the first, and the file has all


@contextmanager
def wide(name: str) -> Iterator[None]:
    """What is drawn inside is shown where a table has room; `name`: of the table on its page."""
    with st.container(key=f"wide_{name}"):
        yield


def lines(name: str, said: Sequence[str]) -> None:
    """The same for a narrow screen: Markdown, a line for each row."""
    with st.container(key=f"narrow_{name}"):
        st.markdown("\n".join(f"- {line}" for line in said[:_MOST]))
        if len(said) > _MOST:
            st.caption(f"The first {_MOST} of {len(said):,}; the file has more.")


def line(head: str, *parts: str | None) -> str:
    """One row as Markdown, from plain text: what is read first in bold, then all that is known."""
    told = "; ".join(words.escaped(part) for part in parts if part)
    return f"**{words.escaped(head)}**" + (f": {told}" if told else "")
