"""Files that are written whole, and what is never written over."""

import os

import pytest

from fleet import store
from fleet.errors import BadInput
from fleet.sheets.kept import keep, refuse_taken

HTML = (".html",)


def test_writes_and_writes_over_only_when_told(tmp_path):
    file = tmp_path / "a.html"
    assert keep("one", file, endings=HTML) == file
    with pytest.raises(BadInput, match="is there already"):
        keep("two", file, endings=HTML)
    assert file.read_text() == "one"
    keep("two", file, endings=HTML, force=True)
    assert file.read_text() == "two"
    assert [p.name for p in tmp_path.iterdir()] == ["a.html"]


@pytest.mark.parametrize("name", ["club.duckdb", "club.html"])
def test_a_store_is_never_written_over(tmp_path, name):
    path = tmp_path / name
    store.create(path)
    before = path.read_bytes()
    with pytest.raises(BadInput, match=r"should end in \.html|is a store"):
        keep("page", path, endings=HTML, force=True)
    assert path.read_bytes() == before


def test_what_is_no_plain_file_is_left_alone(tmp_path):
    pipe = tmp_path / "pipe.html"
    os.mkfifo(pipe)
    with pytest.raises(BadInput, match="no plain file"):
        keep("page", pipe, endings=HTML, force=True)
    assert pipe.is_fifo()


def test_folders_and_missing_folders(tmp_path):
    with pytest.raises(BadInput, match="is a folder"):
        refuse_taken(tmp_path, force=True, endings=HTML)
    with pytest.raises(BadInput, match="there is no folder"):
        refuse_taken(tmp_path / "none" / "a.html", force=True, endings=HTML)
