import access
import address
import choose_machine
import form
import page_names
import reads
import shared
import sheet_reads
import sheet_steps
import sheet_ticks
import streamlit as st
import words

from fleet.flow.bench_facts import BenchSheet
from fleet.sheets.bench_sheet import file_name

_FOR = {"unit": "one machine", "model": "any machine of a model"}


def main() -> None:
    """The bench sheet of a machine or a model: choose, keep steps, print, log the result."""
    place = shared.open_page(
        "Bench sheet",
        "Everything to have beside the machine when it is opened, on paper, with room to write.",
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        shared.caution()
        unit, model = _choose(place)
        if unit is None and model is None:
            st.info("Choose what the sheet is for.", icon=":material/search:")
            return
        sheet = sheet_reads.sheet(place.key, place.as_of, unit, model)
        page = sheet_reads.page(place.key, place.as_of, unit, model)
        _take_it(sheet, page)
        sheet_steps.draw(place, sheet)
        st.header("The sheet", anchor=False)
        name = sheet.unit or f"any {sheet.model}"
        # As high as it is: on a phone a box that scrolls in a page that scrolls is lost at once.
        shown = sheet_ticks.keeping_ticks(page, name, place.as_of)
        st.iframe(shown, height="content", alt=f"Bench sheet of {name}")
        st.caption(
            ":material/info: Ticks are kept by this tab of the browser, for this machine and day, "
            "until it is closed, and nowhere else; what was done is kept by logging it."
        )


def _choose(place: shared.Place) -> tuple[str | None, str | None]:
    """The unit or the model that the sheet is for; neither until one is chosen."""
    what = st.radio(
        "A sheet for",
        list(_FOR),
        format_func=_FOR.__getitem__,
        horizontal=True,
        **address.choice("sheet_for", list(_FOR), "unit"),
    )
    if what == "unit":
        return choose_machine.choose(reads.last_reports(place.key)), None
    models = reads.records(place.key, "units")["model"].unique().sort().to_list()
    model = st.selectbox(
        "Model",
        models,
        index=None,
        placeholder="choose a model",
        **address.choice("sheet_model", models, None),
    )
    return None, None if model is None else str(model)


def _take_it(sheet: BenchSheet, page: str) -> None:
    what = sheet.unit or sheet.model
    places = words.counted(len(sheet.places), "place")
    steps = words.counted(
        sum(len(s) for s in sheet.steps.values()) + sum(len(p.steps) for p in sheet.places),
        "step",
    )
    st.markdown(
        f"The sheet of **{words.escaped(what)}** has {places} and {steps} kept from earlier jobs."
    )
    if sheet.why_due:
        st.markdown(f"**Why it is here:** {words.escaped(sheet.why_due)}")
    for note in sheet.notes:
        st.caption(f":material/info: {words.escaped(page_names.instead_of_commands(note))}")
    with st.container(horizontal=True):
        st.download_button(
            "Download the sheet (HTML)",
            page,
            file_name=file_name(what),
            mime="text/html",
            icon=":material/download:",
            help="Open it in any browser and print it, on A4 or Letter.",
        )
        if access.person().may("log"):
            _to_log(sheet)
    st.caption("The button Print at the head of the sheet below prints the sheet alone.")


def _to_log(sheet: BenchSheet) -> None:
    """To the report of the job, filled in as far as the sheet knows: a recap of every place."""
    if sheet.unit is None:
        st.page_link("views/log.py", label="Log the result", icon=":material/edit_note:")
        return
    if st.button(
        "Log the recap",
        type="primary",
        icon=":material/edit_note:",
        help="Opens the report with the machine and all positions filled in; say there which "
        "ones, where it was only some.",
    ):
        if st.session_state.get("log_kind") != "recapped" or not form.positions():
            form.take_up({"positions": ["all"]})
        st.switch_page("views/log.py", query_params={"unit": sheet.unit, "log_kind": "recapped"})


main()
