"""Cached looks at files that arrived: their bytes are read in a folder of their own, then gone."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory

import polars as pl
import reads
import streamlit as st

from fleet.errors import FleetError
from fleet.flow.arriving import Arrived, look_at_tables, receive
from fleet.flow.gathering import HowToRead
from fleet.flow.importing import Looked, list_rejects, list_writes, look_at_files, look_at_undo


@dataclass(frozen=True, slots=True, kw_only=True)
class Files:
    """Files held in memory: each name with a fingerprint of its content, and the bytes."""

    names: tuple[tuple[str, str], ...]
    data: tuple[bytes, ...]

    @property
    def print(self) -> str:
        """What tells these files from others."""
        return sha256(repr(self.names).encode()).hexdigest()[:12]


def files_of(named: Sequence[tuple[str, bytes]]) -> Files:
    """Files from names and bytes."""
    return Files(
        names=tuple((name, sha256(data).hexdigest()) for name, data in named),
        data=tuple(data for _, data in named),
    )


@contextmanager
def on_disk(files: Files) -> Iterator[list[Path]]:
    """The files in a folder of their own that is gone afterwards. BadInput for what is refused."""
    with TemporaryDirectory(prefix="fleet-") as folder:
        pairs = zip(files.names, files.data, strict=True)
        yield [receive(name, data, Path(folder)) for (name, _), data in pairs]


def arrived(files: Files) -> list[Arrived]:
    """Every table of the files, but those of open repair data, which are read as they are."""
    return _arrived(files.names, files.data)


@st.cache_data(max_entries=4, show_spinner="Looking at the file")
def _arrived(names: tuple[tuple[str, str], ...], _data: tuple[bytes, ...]) -> list[Arrived]:
    with on_disk(Files(names=names, data=_data)) as paths:
        return [table for path in paths for table in look_at_tables(path)]


def looked(key: reads.Key, files: Files, how: HowToRead, *, today: date, by: str | None) -> Looked:
    """What bringing the files in would do."""
    return _looked(key, files.names, _fixed(how), today, by, files.data, how)


def _fixed(how: HowToRead) -> str:
    return repr(sorted((name, repr(table)) for name, table in how.tables.items())) + repr(
        how.source
    )


@st.cache_data(max_entries=4, show_spinner="Comparing it with the store")
def _looked(
    key: reads.Key,
    names: tuple[tuple[str, str], ...],
    how: str,
    today: date,
    by: str | None,
    _data: tuple[bytes, ...],
    _how: HowToRead,
) -> Looked:
    with on_disk(Files(names=names, data=_data)) as paths:
        return look_at_files(Path(key[0]), paths, today=today, by=by, how=_how)


@st.cache_data(max_entries=2, show_spinner="Reading the imports")
def writes(key: reads.Key) -> pl.DataFrame:
    """What was brought in, entered or taken back, the newest first."""
    return list_writes(Path(key[0]))


@st.cache_data(max_entries=8, show_spinner="Looking at what it brought")
def undo_of(key: reads.Key, import_id: str, today: date) -> tuple[pl.DataFrame | None, str]:
    """What an undo would take back, or the sentence why it cannot be."""
    try:
        return look_at_undo(Path(key[0]), import_id, today=today), ""
    except FleetError as error:
        return None, str(error)


@st.cache_data(max_entries=8, show_spinner="Reading the refused rows")
def rejects(key: reads.Key, import_id: str) -> pl.DataFrame:
    """Rows that one import refused."""
    return list_rejects(Path(key[0]), import_id)
