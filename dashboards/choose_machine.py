"""The machine a page is about, found by any part of its name, serial number or model."""

from collections.abc import Callable
from typing import Any

import address
import polars as pl
import streamlit as st
import words

from fleet.flow.named_units import same_number

_AT_ONCE = 2_000  # machines offered in one list; of more, those that match what is typed
_OFFERED = 50
_OTHERS = 4
_SEARCHED = ("unit", "serial", "model")


def choose(
    machines: pl.DataFrame,
    *,
    changed: Callable[[], object] | None = None,
    lacks: str = "No machine {} is in these records.",
) -> str | None:
    """One of `machines` (reads.last_reports), kept in the address as `unit`; None: none chosen yet.

    `changed`: called when another is chosen. `lacks`: said of one in the address that is not there.
    """
    offered = machines if machines.height <= _AT_ONCE else _matching(machines)
    labels = {
        unit: " · ".join(part for part in (unit, serial, model, _seen(when, kind)) if part)
        for unit, serial, model, when, kind in offered.select(
            "unit", "serial", "model", "date", "kind"
        ).iter_rows()
    }
    how: dict[str, Any] = address.choice("unit", list(labels), None, lacks=lacks)
    how |= {"on_change": _chosen, "args": (changed,)}
    chosen = st.selectbox(
        "Machine",
        list(labels),
        index=None,
        format_func=lambda unit: labels.get(unit, str(unit)),
        filter_mode="contains",
        placeholder="type any part of its name, serial number or model",
        help="Each with its serial number, its model and its last report.",
        **how,
    )
    if chosen is None:
        return None
    if st.session_state.get("unit_tapped") == chosen:
        _say_others(str(chosen), machines, changed)
    return str(chosen)


def _chosen(changed: Callable[[], object] | None) -> None:
    address.write("unit")
    st.session_state["unit_tapped"] = st.session_state.get("unit")
    if changed is not None:
        changed()


def _say_others(unit: str, machines: pl.DataFrame, changed: Callable[[], object] | None) -> None:
    """A number that is typed alone, and Enter, takes the first machine that has it: say which one
    it is where others have the number too, each one tap away.
    """
    others = same_number(unit, machines["unit"])
    if not others:
        return
    with st.container(horizontal=True, vertical_alignment="center"):
        st.caption(
            f":material/rule: {len(others) + 1} machines have this number; this is "
            f"**{words.escaped(unit)}**."
        )
        for other in others[:_OTHERS]:
            st.button(
                f"{words.escaped(other)} instead",
                key=f"unit_instead_{other}",
                on_click=_instead,
                args=(other, changed),
            )


def _instead(unit: str, changed: Callable[[], object] | None) -> None:
    st.session_state["unit"] = unit
    _chosen(changed)


def _matching(machines: pl.DataFrame) -> pl.DataFrame:
    """Of a store with too many machines for one list, the chosen one and those that match."""
    typed = st.text_input(
        f"Look among {machines.height:,} machines",
        key="unit_search",
        live="300ms",
        placeholder="any part of a name, serial number or model",
    )
    held = [
        pl.col(name).str.to_lowercase().str.contains(typed.strip().lower(), literal=True)
        for name in _SEARCHED
    ]
    hits = machines.filter(pl.any_horizontal(held)) if typed.strip() else machines.clear()
    if typed.strip():
        more = f"; the first {_OFFERED} are offered, type more of it" * (hits.height > _OFFERED)
        st.caption(f"{words.counted(hits.height, 'machine matches', 'machines match')}{more}.")
    now = st.query_params.get("unit") or st.session_state.get("unit")
    return pl.concat([machines.filter(unit=now or ""), hits.head(_OFFERED)]).unique(
        "unit", maintain_order=True
    )


def _seen(when: str | None, kind: str | None) -> str:
    if when is None or kind is None:
        return "no report yet"
    return f"{words.SEEN.get(kind, kind)} {when}"
