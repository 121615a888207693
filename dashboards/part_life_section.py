"""How long a part lasts where it sits: a section of the parts page."""

from collections.abc import Mapping, Sequence
from typing import Any

import address
import page_names
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.errors import FleetError
from fleet.flow.part_life import LifeAnswer, Place, Ripple, life_by_air, life_of_part
from fleet.flow.read_aloud import number

_FACTS = "facts typed here"
_MOST_HOURS = 8760


def draw(
    place: shared.Place, at: Mapping[str, Any] | None = None, fitting: Sequence[str] = ()
) -> None:
    """The section: a part of the offers, or facts from a data sheet, in a place.

    `at`: the record of the place chosen above. What its old part is rated for is the most that can
    be asked of a new one there, and stands in the boxes until something else is typed, for the
    parts that may go in there (`fitting`, the best first).
    """
    at = dict(at or {})
    here = f"{at['model']} {at['position']}" if at else ""
    st.header("How long would it last there?", anchor=False)
    st.markdown(
        "By the ten-kelvin rule, ripple heat and voltage, never more than fifteen years: an upper "
        "estimate, not a promise."
    )
    offers = reads.records(place.key, "offers")
    parts = offers["part"].drop_nulls().unique().sort().to_list()
    chosen = st.selectbox(
        "Part",
        [*parts, _FACTS],
        **_part_of_the_place(parts, next(iter(fitting), None)),
    )
    if chosen not in fitting:
        at = {}
    told = _facts() if chosen == _FACTS else {}
    one, two, three, four = st.columns(4, vertical_alignment="bottom")
    air = one.number_input(
        "Air beside it while it runs (°C)",
        min_value=-40.0,
        max_value=150.0,
        step=5.0,
        **address.number("life_air", -40.0, 150.0, 45.0),
        help="Inside the case, beside the part: warmer than the room.",
    )
    hours = two.number_input(
        "Powered hours a year",
        min_value=1,
        max_value=_MOST_HOURS,
        step=500,
        **address.number("life_hours", 1, _MOST_HOURS, 2000),
    )
    ripple = three.number_input(
        "Ripple current (mA)",
        min_value=0.0,
        max_value=1e6,
        value=None,
        placeholder="not known",
        **_of_the_place("life_ripple", 1e6, at.get("ripple_ma")),
        help="At the frequency of the rating; not known counts as the rated ripple.",
    )
    volts = four.number_input(
        "Volts across it",
        min_value=0.0,
        max_value=1e4,
        value=None,
        placeholder="not known",
        **_of_the_place("life_volts", 1e4, at.get("voltage")),
    )
    filled = [
        f"{value:g} {unit}"
        for value, told, unit in (
            (ripple, at.get("ripple_ma"), "mA"),
            (volts, at.get("voltage"), "V"),
        )
        if value is not None and value == told
    ]
    if filled:
        st.caption(
            f"{' and '.join(filled)} are what the part in {words.escaped(here)} is rated for: the "
            "most there can be. Type what you measured there."
        )
    asked = Place(
        air_c=float(air),
        hours_per_year=float(hours),
        ripple=() if ripple is None else (Ripple(float(ripple)),),
        volts=None if volts is None else float(volts),
        told=told,
    )
    part = None if chosen == _FACTS else str(chosen)
    try:
        answer = life_of_part(place.store, part, asked, as_of=place.as_of)
    except FleetError as error:  # the sections below it are still of use
        said = page_names.instead_of_commands(str(error), amend="Parts")
        st.error(words.escaped(said), icon=":material/error:")
        return
    _show(answer)
    _draw(life_by_air(place.store, part, asked, as_of=place.as_of), float(air))


def _part_of_the_place(parts: list[str], best: str | None) -> dict[str, Any]:
    """The part that follows the place chosen above, until somebody chooses another."""
    default = best if best in parts else next(iter(parts), _FACTS)
    _follow("life_part", default)
    return address.choice("life_part", [*parts, _FACTS], default)


def _follow(name: str, default: object) -> None:
    """Forget a box that nobody has touched, so that it takes up the new default."""
    state = st.session_state
    if state.get(name) == state.get(f"{name}_of_place"):
        state.pop(name, None)
    state[f"{name}_of_place"] = default


def _of_the_place(name: str, most: float, told: float | None) -> dict[str, Any]:
    """A number that follows the place chosen above, until somebody types another."""
    default = float(told) if told is not None and 0.0 <= told <= most else None
    _follow(name, default)
    return address.number(name, 0.0, most, default)


def _facts() -> dict[str, Any]:
    """What a data sheet says of a part that no offer names."""
    asked = {
        "rated_hours": ("Rated hours", 2000.0, 1e6),
        "temperature": ("Rated temperature (°C)", 105.0, 200.0),
        "ripple_ma": ("Rated ripple (mA)", None, 1e6),
        "voltage": ("Rated voltage (V)", None, 1e4),
    }
    told: dict[str, Any] = {}
    for cell, (name, (label, usual, most)) in zip(st.columns(4), asked.items(), strict=True):
        told[name] = cell.number_input(
            label,
            min_value=1.0,
            max_value=most,
            value=None,
            placeholder="not known",
            **address.number(f"life_{name}", 1.0, most, usual),
        )
    return told


def _show(answer: LifeAnswer) -> None:
    life = answer.frame.row(0, named=True)
    years = f"{number(life['years'])} years"
    capped = " (makers claim no more)" if life["capped"] else ""
    for warning in answer.warnings:  # before the number that they weaken
        st.warning(words.escaped(warning), icon=":material/warning:")
    st.markdown(f"**At most about {years}{capped} in air of {life['air_c']:g} °C.**")
    take_away.shown(
        answer.frame.select(
            pl.col("air_c").alias("Air (°C)"),
            pl.col("years").alias("Years"),
            pl.when("capped").then(pl.lit("yes")).otherwise(pl.lit("no")).alias("Capped"),
            pl.col("hours").round(0).alias("Powered hours"),
            pl.col("temperature_factor").alias("Heat, times"),
            pl.col("ripple_factor").alias("Ripple, times"),
            pl.col("voltage_factor").alias("Volts, times"),
        ),
        "life-by-air",
        hide_index=True,
        alt="Years the part would last, in the air told and in cooler and warmer air",
        column_config={
            "Years": st.column_config.NumberColumn(format="%.1f"),
            "Powered hours": st.column_config.NumberColumn(format="localized"),
            "Heat, times": st.column_config.NumberColumn(format="%.3g"),
            "Ripple, times": st.column_config.NumberColumn(format="%.3g"),
            "Volts, times": st.column_config.NumberColumn(format="%.3g"),
        },
    )
    shared.show_notes(tuple(note for note in answer.notes if note not in answer.warnings))


def _draw(lives: pl.DataFrame, air: float) -> None:
    ends = lives.filter(pl.col("air_c").is_in([lives["air_c"].min(), lives["air_c"].max()]))
    warm, hot = ends["years"].to_list()[0], ends["years"].to_list()[-1]
    sentence = (
        f"From {number(warm)} years at {ends['air_c'][0]:g} °C to {number(hot)} at "
        f"{ends['air_c'][-1]:g} °C; dashed is the rule beyond what makers claim."
    )
    take_away.drawn(charts.draw_part_life(lives, air_c=air), "life-by-air", alt=sentence)
    st.caption(sentence)
