from collections.abc import Mapping
from typing import Any

import address
import part_code_section
import part_entry
import part_life_section
import part_stand_in_section
import polars as pl
import reads
import shared
import streamlit as st
import words

from fleet.flow.caution import may_hurt

_PLACE = (
    ("capacitance", "capacitance", ""),
    ("voltage", "voltage", " V"),
    ("temperature", "temperature", " °C"),
    ("diameter_mm", "diameter", " mm"),
    ("length_mm", "length", " mm"),
    ("lead_form", "lead form", ""),
    ("lead_spacing_mm", "lead spacing", " mm"),
    ("clearance_mm", "room beside it", " mm"),
    ("headroom_mm", "height under the cover", " mm"),
)


def main() -> None:
    """What may stand in for a part: a place, every part with its verdict and reasons."""
    place = shared.open_page(
        "Parts", "What may go in where an old capacitor comes out, and why; measured, not guessed."
    )
    at: dict[str, Any] | None = None
    fitting: list[str] = []
    with shared.sentences():
        places = reads.records(place.key, "positions")
        if places.is_empty():
            st.info(_NO_PLACES, icon=":material/start:")
        else:
            model, position = _choose(places)
            at = places.filter(model=model, position=position).row(-1, named=True)
            _asked(at)
            fitting = part_stand_in_section.fitting(place, model, position)
            part_stand_in_section.may_go_in(place, model, position)
            part_stand_in_section.in_the_hand(place, model, position)
    part_life_section.draw(place, at, fitting)
    part_code_section.draw(place)
    part_entry.draw(place)


def _choose(places: pl.DataFrame) -> tuple[str, str]:
    models = places["model"].unique().sort().to_list()
    left, right = st.columns(2)
    model = left.selectbox("Model", models, **address.choice("model", models, models[0]))
    here = places.filter(pl.col("model") == model)["position"].unique(maintain_order=True).to_list()
    position = right.selectbox("Position", here, **address.choice("position", here, here[0]))
    return str(model), str(position)


def _asked(told: Mapping[str, Any]) -> None:
    """What is known of the place; what its notes warn of, where it may hurt, in the caution."""
    facts = [
        f"{name} {told[column]:g}{unit}"
        if isinstance(told[column], float)
        else f"{name} {words.escaped(told[column])}"
        for column, name, unit in _PLACE
        if told.get(column) is not None
    ]
    st.markdown("The place asks for " + (", ".join(facts) or "what nobody wrote down yet") + ".")
    if told.get("role"):
        st.markdown(f"Role: {words.escaped(told['role'])}.")
    here = words.escaped(f"{told['model']} {told['position']}")
    notes = words.escaped(told["notes"]) if told.get("notes") else ""
    if may_hurt(told.get("voltage")):
        own = notes or "it may stay charged when unplugged"
        if "discharged" not in own:
            own += ": prove it discharged first"
        with st.container(key="caution"):  # this place first, the rest in short
            st.warning(
                f"**{here} ({told['voltage']:g} V): {own}.** {words.CAUTION_SHORT}",
                icon=":material/electrical_services:",
            )
        return
    shared.caution()
    if notes:
        st.markdown(f"Notes: {notes}.")


_NO_PLACES = """No places for capacitors are recorded yet. Describe one at the foot of this page, or
bring in record files (positions, offers, stock) on the page Bring in data."""

main()
