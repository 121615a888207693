"""Which machines of the due list are shown, and in which order: kept in the address."""

from collections.abc import Mapping

import address
import polars as pl
import streamlit as st
import words

from fleet import charts
from fleet.flow.due_when import date_reached

_WIDTH, _WIDE = 165, 250  # pixels; a phone has room for two narrow boxes side by side
# Name of an order, in words, by which column, the largest first.
_ORDERS: Mapping[str, tuple[str, pl.Expr | None, bool]] = {
    "urgent": ("the most urgent first", None, False),
    "due": ("the earliest date first", date_reached(), False),
    "chance": ("the likeliest to fail first", pl.col("p_fail"), True),
    "unseen": ("the likeliest to have failed unseen first", pl.col("p_failed_unseen"), True),
    "age": ("the oldest parts first", pl.col("age"), True),
    "heard": ("the longest unheard of first", pl.col("last_known_working"), False),
    "unit": ("by name", pl.col("unit"), False),
}
_MEANS: Mapping[str, Mapping[str, str]] = {
    "cost": words.ACTIONS_ADVICE,
    "risk": {
        **words.ACTIONS_ADVICE,
        "recap_now": "its chance of failing within a year is above what is borne",
        "leave": "its chance of failing stays within what is borne",
    },
    "age": {**words.ACTIONS_ADVICE, "recap_now": "its parts are past the fixed age"},
}


def choose(frame: pl.DataFrame, *, rule: str) -> pl.DataFrame:
    """The rows wanted of a due list, in the order wanted; `rule` of flow.due.Policy."""
    with st.container(horizontal=True):
        models = _several(frame, "model", "Model", "all models")
        sources = _several(frame, "source", "Source", "all sources")
        order = st.selectbox(
            "Order",
            list(_ORDERS),
            format_func=lambda name: _ORDERS[name][0],
            width=_WIDE,
            **address.choice("order", list(_ORDERS), "urgent"),
        )
    for column, wanted in (("model", models), ("source", sources)):
        if wanted:
            frame = frame.filter(pl.col(column).is_in(wanted))
    actions = _actions(frame, rule)
    if actions:
        frame = frame.filter(pl.col("action").is_in(actions))
    return _ordered(frame, order)


def _several(frame: pl.DataFrame, column: str, label: str, none: str) -> list[str]:
    values = frame[column].drop_nulls().unique().sort().to_list()
    return st.multiselect(
        label, values, placeholder=none, width=_WIDTH, **address.several(column, values)
    )


def _actions(frame: pl.DataFrame, rule: str) -> list[str]:
    """What is to be done, each with how many machines; none chosen: all of them."""
    counts = dict(frame.group_by("action").len().iter_rows())
    advice = _MEANS.get(rule, words.ACTIONS_ADVICE)
    means = {a: f"{word.capitalize()}: {advice[a]}." for a, word in charts.ACTION_WORDS.items()}
    chosen = st.pills(
        "What to do",
        list(charts.ACTION_WORDS),
        selection_mode="multi",
        format_func=lambda a: f"{charts.ACTION_WORDS[a].capitalize()}: {counts.get(a, 0):,}",
        help=" ".join(means.values()),
        **address.several("action", list(charts.ACTION_WORDS)),
    )
    if chosen:
        st.caption(" ".join(means[action] for action in chosen))
    return list(chosen)


def _ordered(frame: pl.DataFrame, order: str | None) -> pl.DataFrame:
    _, by, descending = _ORDERS.get(str(order), _ORDERS["urgent"])
    if by is None:
        return frame
    return frame.sort(by, descending=descending, nulls_last=True, maintain_order=True)
