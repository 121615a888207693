import address
import part_code_section
import part_life_section
import parts_reads
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet.errors import FleetError
from fleet.flow.parts import StandIns

_VERDICTS = {
    "fits": "fits",
    "fits_with_care": "fits with care",
    "facts_not_known": "cannot be judged yet",
    "does_not_fit": "does not fit",
}
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
    with shared.sentences():
        places = reads.records(place.key, "positions")
        if places.is_empty():
            st.info(_NO_PLACES, icon=":material/start:")
        else:
            st.warning(words.CAUTION, icon=":material/electrical_services:")
            model, position = _choose(places)
            _asked(places.filter(model=model, position=position))
            _may_go_in(place, model, position)
            _in_the_hand(place, model, position)
    part_life_section.draw(place)
    part_code_section.draw(place)


def _choose(places: pl.DataFrame) -> tuple[str, str]:
    models = places["model"].unique().sort().to_list()
    left, right = st.columns(2)
    model = left.selectbox("Model", models, **address.choice("model", models, models[0]))
    here = places.filter(pl.col("model") == model)["position"].unique(maintain_order=True).to_list()
    position = right.selectbox("Position", here, **address.choice("position", here, here[0]))
    return str(model), str(position)


def _asked(row: pl.DataFrame) -> None:
    told = row.row(-1, named=True)
    facts = [
        f"{name} {told[column]:g}{unit}"
        if isinstance(told[column], float)
        else f"{name} {told[column]}"
        for column, name, unit in _PLACE
        if told.get(column) is not None
    ]
    st.caption("The place asks for: " + ", ".join(facts) + ".")
    for column in ("role", "notes"):
        if told.get(column):
            st.caption(f"{column.capitalize()}: {told[column]}.")


def _may_go_in(place: shared.Place, model: str, position: str) -> None:
    st.subheader("What may go in", anchor=False)
    if (
        reads.records(place.key, "offers").is_empty()
        and reads.records(place.key, "stock").is_empty()
    ):
        st.info(
            "No parts are listed yet: fleet add offer enters one, with its price; or type what is "
            "printed on a part below."
        )
        return
    try:
        found = parts_reads.verdicts(place.key, place.as_of, model, position, None)
    except FleetError as error:  # a place that cannot be judged leaves the rest of the page
        st.error(str(error), icon=":material/error:")
        return
    counts = found.frame["verdict"].value_counts()
    number = dict(zip(counts["verdict"], counts["count"], strict=True))
    unknown = number.get("facts_not_known", 0)
    st.markdown(
        f"Of {found.frame.height} parts {number.get('fits', 0)} fit, "
        f"{number.get('fits_with_care', 0)} with care, {number.get('does_not_fit', 0)} do not"
        + (f", {unknown} cannot be judged yet." if unknown else ".")
    )
    take_away.shown(
        _table(found.frame),
        "what-may-go-in",
        hide_index=True,
        placeholder="",
        alt=f"Parts for {model} {position} with verdict and what speaks against each",
        column_config={
            "Part": st.column_config.TextColumn(pinned=True),
            "Verdict": st.column_config.TextColumn(width="small"),
            "Measure first": st.column_config.TextColumn(width="small"),
            "What speaks against it": st.column_config.TextColumn(width="large"),
        },
    )
    parts = found.frame["part"].to_list()
    part = st.selectbox("Every reason for", parts, **address.choice("stand_in", parts, parts[0]))
    _reasons(found.frame.filter(pl.col("part") == part))
    shared.show_notes(found.notes)


def _table(frame: pl.DataFrame) -> pl.DataFrame:
    reason = pl.element().struct
    against = {
        verdict: pl.col("reasons")
        .list.eval(reason.field("sentence").filter(reason.field("verdict") == verdict))
        .list.join("; ")
        for verdict in ("does_not_fit", "facts_not_known", "fits_with_care")
    }
    return frame.select(
        pl.col("part").alias("Part"),
        pl.col("verdict").replace(_VERDICTS).alias("Verdict"),
        pl.col("measure_first").list.join(", ").alias("Measure first"),
        pl.when(pl.col("verdict") == "does_not_fit")
        .then(against["does_not_fit"])
        .when(pl.col("verdict") == "facts_not_known")
        .then(against["facts_not_known"])
        .otherwise(against["fits_with_care"])
        .alias("What speaks against it"),
    )


def _reasons(pair: pl.DataFrame) -> None:
    """Every reason of one pair; a table that breaks its lines, as reasons are to be read whole."""
    st.table(
        pair.explode("reasons")
        .select("reasons")
        .unnest("reasons")
        .select(
            pl.col("point").alias("Point"),
            pl.col("verdict").replace(_VERDICTS).alias("Says"),
            pl.col("sentence").alias("Reason"),
            pl.col("source").alias("Source"),
        ),
        hide_index=True,
        alt="Every reason for the verdict, each with its source",
    )
    st.caption("The verdict is the worst of its reasons.")


def _in_the_hand(place: shared.Place, model: str, position: str) -> None:
    st.subheader("A part in the hand", anchor=False)
    typed = st.text_input(
        "What is printed on it",
        placeholder="1000uF 25V 105C 10x20 radial aluminium",
        key="part_in_hand",
        help="Capacitance with its unit, voltage, temperature, diameter x length, lead form; also "
        "20%, pitch5, 850mA, 0.05ohm, 5000h, X2, non-polar.",
    )
    if not typed.strip():
        return
    try:
        found = parts_reads.verdicts(place.key, place.as_of, model, position, typed)
    except FleetError as error:
        st.error(str(error), icon=":material/error:")
        return
    _say(found, model, position)


def _say(found: StandIns, model: str, position: str) -> None:
    row = found.frame.row(0, named=True)
    st.markdown(f"In {model} {position} it **{_VERDICTS[row['verdict']]}**.")
    if row["measure_first"]:
        st.markdown("Measure or look up first: " + ", ".join(row["measure_first"]) + ".")
    _reasons(found.frame)


_NO_PLACES = """No places for capacitors are recorded yet. Bring some in, then come back:

- `fleet import FOLDER` takes record files (positions, offers, stock);
- `fleet add position C3 --model MODEL` enters one by hand;
- `fleet demo` builds a separate store with invented records, to look around."""

main()
