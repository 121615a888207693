"""How many machines will fail in each quarter to come: a section of the due page."""

from datetime import date
from pathlib import Path

import address
import page_names
import polars as pl
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.flow.due import Prior
from fleet.flow.expected import ExpectedAnswer, expected_failures

_MOST_QUARTERS = 40
_MOST_DRAWN = 6  # models side by side in a quarter; more, and all are drawn as one


def draw(place: shared.Place, models: list[str], *, share: float) -> None:
    """The section, reckoned only where it is asked for.

    `models`: those chosen on the page, none for all of them; `share`: of models held not to wear
    out, in the prior.
    """
    box = st.expander(
        "How many will fail in each quarter (to buy parts by)",
        icon=":material/shopping_cart:",
        **address.opened("show_expected"),
    )
    if not box.open:
        return
    with box:
        _reckon(place, models, share)


def _reckon(place: shared.Place, models: list[str], share: float) -> None:
    one, two = st.columns(2, vertical_alignment="bottom")
    quarters = one.number_input(
        "Quarters ahead, the first being what is left of this one",
        min_value=1,
        max_value=_MOST_QUARTERS,
        step=1,
        **address.number("quarters", 1, _MOST_QUARTERS, 8),
    )
    again = two.checkbox(
        "Count new parts too where they fail in their turn",
        **address.choice("again", [False, True], False),
    )
    found = _expected(place.key, place.as_of, int(quarters), again=bool(again), share=share)
    _show(found, models)


@st.cache_resource(max_entries=8, show_spinner="Counting failures to come")
def _expected(
    key: tuple[str, str], as_of: date, quarters: int, *, again: bool, share: float
) -> ExpectedAnswer:
    """Nobody changes it."""
    return expected_failures(
        Path(key[0]), as_of=as_of, quarters=quarters, again=again, prior=Prior().with_share(share)
    )


def _show(found: ExpectedAnswer, models: list[str]) -> None:
    mine = pl.col("model").is_in(models)
    each = found.frame.filter(mine) if models else found.frame
    if each.is_empty():
        st.info("Of these models no machine is thought to be working.")
        return
    st.markdown("\n".join(f"- {words.escaped(line)}" for line in found.said_of(models)))
    few = 0 < len(models) <= _MOST_DRAWN
    take_away.drawn(
        charts.draw_expected_failures(each if few else found.quarters),
        "failures-to-come",
        alt="Machines expected to fail in each quarter, with limits; the table below has the "
        "numbers.",
    )
    drawn = "" if few or not models else " All models are drawn as one."
    st.caption(
        "Dots: the number expected. Strokes: its 90% limits, whole machines, so that they hold "
        f"somewhat more often.{drawn}"
    )
    _table(each)
    for note in found.notes:
        st.caption(f":material/info: {words.escaped(page_names.instead_of_commands(note))}")


def _table(each: pl.DataFrame) -> None:
    quarter = pl.col("quarter_from")
    st.dataframe(
        each.select(
            pl.col("model").alias("Model"),
            pl.format("{} Q{}", quarter.dt.year(), quarter.dt.quarter()).alias("Quarter"),
            quarter.alias("From"),
            pl.col("quarter_to").alias("To"),
            pl.col("expected").alias("Expected to fail"),
            pl.col("low").alias("at least"),
            pl.col("high").alias("at most"),
            pl.col("units").alias("Machines"),
        ),
        hide_index=True,
        alt="Machines expected to fail by model and quarter, with limits",
        column_config={
            "Model": st.column_config.TextColumn(pinned=True),
            "From": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "To": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "Expected to fail": st.column_config.NumberColumn(format="%.2f"),
            "at least": st.column_config.NumberColumn(format="%d"),
            "at most": st.column_config.NumberColumn(format="%d"),
        },
    )
    since = each["quarter_from"][0].isoformat()
    take_away.table(each, f"failures-to-come-{since}", what="Download the numbers")
