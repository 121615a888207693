"""What a date code can mean: a section of the parts page."""

import address
import polars as pl
import reads
import shared
import streamlit as st
import take_away

from fleet.errors import FleetError
from fleet.flow.part_code import part_code
from fleet.flow.table import Answer

_NO_MODEL = "no model"


def draw(place: shared.Place) -> None:
    """The section: a code as printed, narrowed by a model's build years where one is chosen."""
    st.header("When was it made?", anchor=False)
    st.markdown("A date code has several readings; a machine's build years leave some of them out.")
    models = reads.records(place.key, "models")["model"].drop_nulls().unique().sort().to_list()
    one, two = st.columns(2, vertical_alignment="bottom")
    code = one.text_input(
        "Date code, as printed on the part",
        placeholder="0443, R3, 342, 31203",
        **address.text("part_code", 40),
    ).strip()
    model = two.selectbox(
        "Found in a machine of model",
        [_NO_MODEL, *models],
        **address.choice("code_model", [_NO_MODEL, *models], _NO_MODEL),
    )
    if not code:
        st.caption("Type what is printed on the can: the date's signs alone.")
        return
    named = None if model == _NO_MODEL else str(model)
    try:
        answer = part_code(place.store, code, as_of=place.as_of, model=named)
    except FleetError as error:  # the sections below it are still of use
        st.error(str(error), icon=":material/error:")
        return
    _show(answer)


def _show(answer: Answer) -> None:
    frame = answer.frame
    fits = [] if frame["fits"].null_count() else [pl.col("fits").alias("Can be")]
    take_away.shown(
        frame.select(
            pl.col("earliest").alias("From"),
            pl.col("latest").alias("To"),
            pl.col("age_high").alias("Age (years)"),
            *fits,
            pl.col("scheme").alias("Read as"),
            pl.when("usual").then(pl.lit("yes")).otherwise(pl.lit("seldom met")).alias("Usual"),
        ),
        "date-code",
        hide_index=True,
        alt="Every reading of the date code with its scheme",
        column_config={
            "From": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "To": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "Age (years)": st.column_config.NumberColumn(format="%.1f"),
        },
    )
    shared.show_notes(answer.notes)
