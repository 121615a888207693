import access
import bring_files
import bring_past
import bring_preview
import bring_reads
import reads
import shared
import streamlit as st
import words
from bring_reads import Files

from fleet.errors import FleetError
from fleet.flow.gathering import HowToRead
from fleet.flow.importing import Imported, import_files


def main() -> None:
    """Bring data in: take files, see what would happen, do it, take it back."""
    if st.session_state.pop("bring_moves", False):
        shared.move_to_today()
    place = shared.open_page(
        "Bring in data",
        "Rows from files or a spreadsheet: what would be kept is shown before anything is written, "
        "and all of it can be taken back.",
        dated=False,
    )
    access.need("manage")
    with shared.sentences():
        _what_happened(place)
        files = bring_files.take()
        if files is None:
            if reads.records(place.key, "units").is_empty():
                st.info(_FIRST, icon=":material/start:")
        else:
            _bring(place, files)
        bring_past.draw(place)


_FIRST = """The store has no machines yet. Begin with what there is: a list of machines (unit,
model), then reports on them (unit, date, kind). Of a folder of record files all can be given at
once; `fleet import FOLDER` does the same."""


def _bring(place: shared.Place, files: Files) -> None:
    """Choose, look, bring in; a file that cannot be read is said, and what was brought in before
    stays on the page.
    """
    try:
        sources = reads.records(place.key, "sources")["source"].unique().sort().to_list()
        how = bring_files.choose(files, sources)
        if access.signed_by() is None:
            st.text_input(
                "Who brings it in",
                key="bring_by",
                persist_state="session",
                placeholder="a name or initials",
                autocomplete="name",
            )
        if how is None:
            return
        by = bring_past.who()
        looked = bring_reads.looked(place.key, files, how, today=place.today, by=by)
    except FleetError as error:
        st.error(words.escaped(str(error)), icon=":material/error:")
        return
    bring_preview.draw(looked)
    kept = int(looked.counts["kept"].sum())
    if st.button(
        f"Bring in {kept:,} new row{'' if kept == 1 else 's'}"
        if kept
        else "Nothing new to bring in",
        type="primary",
        icon=":material/input:",
        disabled=not kept,
        key="bring_go",
    ):
        _write(place, files, how, by)


def _write(place: shared.Place, files: Files, how: HowToRead, by: str | None) -> None:
    """Bring the files in, saying how far it is; then draw the page anew."""
    access.need("manage")
    state = st.session_state
    state["bring_undone"] = state["bring_error"] = None
    with st.status("Bringing it in", expanded=True) as status:

        def step(text: str) -> None:
            status.update(label=f"Bringing it in: {words.escaped(text)}")
            st.markdown(words.escaped(text))

        try:
            with bring_reads.on_disk(files) as paths:
                done = import_files(
                    place.store, paths, today=place.today, by=by, how=how, progress=step
                )
        except FleetError as error:
            status.update(label="Nothing was brought in", state="error")
            st.error(words.escaped(str(error)), icon=":material/error:")
            return
    state["bring_done"] = done
    state["bring_moves"] = True
    bring_files.empty()
    st.rerun()


def _what_happened(place: shared.Place) -> None:
    """What the last import or undo did, until the next."""
    state = st.session_state
    if state.get("bring_error"):
        st.error(words.escaped(state["bring_error"]), icon=":material/error:")
    if state.get("bring_undone"):
        st.success(state["bring_undone"], icon=":material/undo:")
    done: Imported | None = state.get("bring_done")
    if done is None:
        return
    with st.container(border=True):
        st.success(
            f"Brought in as {done.import_id or 'nothing new'}. "
            f"{bring_preview.in_words(done, done=True)}",
            icon=":material/check:",
        )
        bring_preview.counts(done)
        if done.import_id:
            bring_past.undo_button(place, done.import_id, key="bring_undo_last")
        bring_preview.refused(done.rejected, name=f"refused-{done.import_id}-just-now")


main()
