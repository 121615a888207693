"""Photos that go with a report: looked at as they arrive, kept when the report is."""

from collections.abc import Sequence
from hashlib import sha256

import photo_reads
import polars as pl
import reads
import streamlit as st
import words
from streamlit.runtime.uploaded_file_manager import UploadedFile

from fleet.errors import FleetError
from fleet.flow.pictures import MOST_BYTES, read_picture

_TYPES = ("jpg", "jpeg", "png", "webp")
_MOST_AT_ONCE = 8
_NAMES = "log_photo_names"


def ask() -> bool:
    """Draw the place for photos; whether all that were given can be kept."""
    most = MOST_BYTES // 1_000_000
    given = st.file_uploader(
        f"Photos (JPEG, PNG or WebP, {most} MB each at most)",
        type=list(_TYPES),
        accept_multiple_files=True,
        max_upload_size=most,
        key=_key(),
        on_change=_changed,
        help="A phone offers its camera here. They are kept smaller, and without the place and "
        "time that a camera writes into them.",
    )
    if not given:
        if names():
            several = "photos" if len(names()) > 1 else "photo"
            st.caption(
                f":material/photo_camera: :red[The {several} must be chosen again: "
                f"{words.escaped(', '.join(names()))}.]"
            )
        return True
    if len(given) > _MOST_AT_ONCE:
        st.caption(
            f":material/error: :red[{_MOST_AT_ONCE} photos at most go with one report; take "
            f"{len(given) - _MOST_AT_ONCE} away.]"
        )
        return False
    return all([_looked_at(file) for file in given])


def _looked_at(file: UploadedFile) -> bool:
    """Whether a file is a picture that can be kept; says so where it is not."""
    why = _why_not(sha256(file.getvalue()).hexdigest(), file.name, file.getvalue())
    if why:
        st.caption(f":material/error: :red[{words.escaped(why)}]")
    return not why


@st.cache_data(max_entries=32, show_spinner="Looking at the photo")
def _why_not(_print: str, name: str, _data: bytes) -> str:
    """Why it cannot be kept; blank where it can. `print` tells contents apart."""
    try:
        read_picture(_data, name)
    except FleetError as error:
        return str(error)
    return ""


def given() -> list[tuple[bytes, str]]:
    """The photos that were given, to be kept with the report: bytes and file name."""
    return [(file.getvalue(), file.name) for file in st.session_state.get(_key()) or ()]


def names() -> list[str]:
    """Names of the photos that were chosen. Where they are not given any more (the page was left
    or loaded again, and a browser gives no file back unasked), they must be chosen again.
    """
    return [*(st.session_state.get(_NAMES) or ())]


def take_up(chosen: Sequence[str]) -> None:
    """Names of photos that a draft had."""
    st.session_state[_NAMES] = list(chosen)


def _changed() -> None:
    """Somebody chose or took away; a page that is left calls nothing."""
    st.session_state[_NAMES] = [file.name for file in st.session_state.get(_key()) or ()]


def empty() -> None:
    """Forget the photos that were given."""
    st.session_state[_NAMES] = []
    st.session_state["log_photo_round"] = st.session_state.get("log_photo_round", 0) + 1


def _key() -> str:
    return f"log_photos_{st.session_state.get('log_photo_round', 0)}"


def show(key: reads.Key, reports: pl.DataFrame) -> None:
    """The photos of these reports, each said in words."""
    photos = photo_reads.photos_of(key, tuple(reports["record"]))
    if photos.is_empty():
        return
    told = {row["record"]: (row["unit"], row["kind"], row["date"]) for row in reports.to_dicts()}
    with st.container(horizontal=True):
        for photo in photos.iter_rows(named=True):
            unit, kind, date = told[photo["report"]]
            by = f" by {photo['by']}" if photo["by"] else ""
            said = f"{unit}, {words.SEEN.get(kind, kind)} {date}"
            st.image(
                photo_reads.image(key[0], photo["image"]),
                caption=words.escaped(f"{said}{by}"),
                alt=f"Photo of {said}{': ' if photo['notes'] else ''}{photo['notes'] or ''}",
                width=240,
            )
