"""Where each finding on the data is put right: pages, and what their links say."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import streamlit as st
import words


@dataclass(frozen=True, slots=True)
class _Link:
    page: str
    label: str
    each: bool = False  # one link for each machine concerned, with it chosen
    model: bool = False  # the subject is a model, to be chosen there


_LOG, _BRING_IN, _UNITS = "views/log.py", "views/bring_in.py", "views/units.py"
_CURVES, _SUSPECTS = "views/curves.py", "views/suspects.py"
PAGES = (_LOG, _BRING_IN, _UNITS, _CURVES, _SUSPECTS)
_CORRECT = (_Link(_UNITS, "Correct {}", each=True),)
_LINKS: Mapping[str, tuple[_Link, ...]] = {
    "failures alone": (
        _Link(_LOG, "Log a report"),
        _Link(_BRING_IN, "Bring in the list of sources"),
    ),
    "silence": (_Link(_LOG, "Log {}", each=True),),
    "sources": (_Link(_LOG, "Log a report"), _Link(_BRING_IN, "Bring in what is missing")),
    "causes": _CORRECT,
    "batches": _CORRECT,
    "told twice": (_Link(_UNITS, "Settle {}", each=True),),
    "left out": (_Link(_UNITS, "See {}", each=True),),
    "build dates": _CORRECT,
    "undescribed": (_Link(_BRING_IN, "Bring in what is missing"),),
    "date codes": (_Link(_BRING_IN, "Bring in corrected batches"),),
    "pooling": (
        _Link(_SUSPECTS, "Batch or design?"),
        _Link(_CURVES, "Curves of {}", model=True),
    ),
}
_MOST = 6


def draw(row: Mapping[str, Any], *, open_to: frozenset[str], key: object) -> None:
    """Links to the pages where a finding (row of checking.FINDINGS) is put right; those only that
    the role covers.
    """
    links = [link for link in _LINKS.get(row["about"], ()) if link.page in open_to]
    if not links:
        return
    with st.container(horizontal=True, key=f"health_links_{key}"):
        for link in links:
            if link.model:
                _draw(link, row["subject"], {"model": row["subject"]})
            elif not link.each:
                _draw(link, "", None)
            for unit in (row["units"] or [])[:_MOST] if link.each else ():
                _draw(link, unit, {"unit": unit})


def _draw(link: _Link, name: str, told: Mapping[str, str] | None) -> None:
    st.page_link(
        link.page,
        label=link.label.format(words.escaped(name)).strip(),
        icon=":material/arrow_forward:",
        query_params=told,
    )
