"""Where each finding on the data is put right: a page, and what its link says."""

from collections.abc import Mapping
from dataclasses import dataclass

import streamlit as st


@dataclass(frozen=True, slots=True)
class _Link:
    page: str
    label: str
    for_each: bool = False  # one link for each machine concerned, with it chosen


_LINKS: Mapping[str, _Link] = {
    "failures alone": _Link("views/log.py", "Log a report"),
    "silence": _Link("views/log.py", "Log {}", for_each=True),
    "sources": _Link("views/bring_in.py", "Bring in a corrected list of sources"),
    "causes": _Link("views/units.py", "Correct {}", for_each=True),
    "batches": _Link("views/units.py", "See {}", for_each=True),
    "told twice": _Link("views/units.py", "Settle {}", for_each=True),
    "left out": _Link("views/units.py", "See {}", for_each=True),
    "build dates": _Link("views/units.py", "See {}", for_each=True),
    "undescribed": _Link("views/bring_in.py", "Bring in what is missing"),
    "date codes": _Link("views/bring_in.py", "Bring in corrected batches"),
    "pooling": _Link("views/suspects.py", "Batch or design?"),
}
_MOST = 12


def draw(about: str, units: list[str], *, open_to: frozenset[str], key: int) -> None:
    """Links to the page where a finding is put right; nothing where a role does not cover it."""
    link = _LINKS.get(about)
    if link is None or link.page not in open_to:
        return
    with st.container(horizontal=True, key=f"health_links_{key}"):
        if not link.for_each or not units:
            st.page_link(link.page, label=link.label.replace(" {}", ""), icon=":material/edit:")
            return
        for unit in units[:_MOST]:
            st.page_link(
                link.page,
                label=link.label.format(unit),
                icon=":material/edit:",
                query_params={"unit": unit},
            )
