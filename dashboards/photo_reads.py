"""Cached reads of photos; a picture is held under what it contains, so it never changes."""

from pathlib import Path

import polars as pl
import reads
import streamlit as st

from fleet.flow import photos


@st.cache_data(max_entries=16, show_spinner="Reading the photos")
def photos_of(key: reads.Key, reports: tuple[str, ...]) -> pl.DataFrame:
    """The standing photos of some reports."""
    kept = reads.records(key, "photos")
    return photos.photos_of(Path(key[0]), reports=reports, standing=kept)


@st.cache_data(max_entries=48, show_spinner="Reading the photos")
def image(store: str, sha256: str) -> bytes:
    """The JPEG of a photo."""
    return photos.image(Path(store), sha256)
