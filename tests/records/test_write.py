"""Export and reading back: the same ids, content and values."""

import tempfile
from datetime import date
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from fleet.errors import BadInput
from fleet.frames import KINDS, private_columns
from fleet.records import FORMS, RawTable, clean, identify, read_tables, write_tables
from fleet.records.headers import column_names

TODAY = date(2026, 11, 25)

SIGNS = st.sampled_from(["", "~", "?", "%"])
DATES = st.one_of(
    st.dates(date(1950, 1, 1), date(2024, 12, 31)).map(date.isoformat),
    st.tuples(st.integers(1950, 2026).map(str), SIGNS).map("".join),
    st.sampled_from(["199X", "1998-21", "../2003", "1998/..", "2026", "1998~/2001-05"]),
)
TEXTS = st.text(st.characters(blacklist_categories=("Cs", "Cc")), min_size=1, max_size=12)
NOTES = st.text(
    st.characters(blacklist_categories=("Cs", "Cc"), whitelist_characters="\n\t"), max_size=30
)
NUMBERS = st.floats(min_value=0, allow_nan=False, allow_infinity=False).map(repr)


def cells(column):
    if column.name == "entered_on":
        return st.none() | st.dates(date(2025, 1, 1), TODAY).map(date.isoformat)
    by_form = {
        "date": DATES,
        "number": NUMBERS,
        "whole": st.integers(0, 10_000).map(str),
        "choice": st.sampled_from(column.choices or ("",)),
        "yes_no": st.sampled_from(["yes", "no"]),
        "text": NOTES if column.name == "notes" else TEXTS,
    }
    good = by_form[column.form]
    return good if column.required else st.none() | good


def rows_of(kind):
    from fleet.frames import COMMON

    columns = {c.name: c for c in (*COMMON, *KINDS[kind].columns)}
    del columns["record"]
    return st.lists(st.fixed_dictionaries({n: cells(c) for n, c in columns.items()}), max_size=4)


def known(kind, rows):
    """Frames as the store would keep them."""
    frame = pl.DataFrame(rows, schema=dict.fromkeys(rows[0], pl.String)) if rows else pl.DataFrame(
        schema={c: pl.String for c in column_names(kind)})  # fmt: skip
    frame = frame.with_columns(pl.int_range(2, pl.len() + 2, dtype=pl.Int64).alias("line"))
    result = clean(RawTable(kind=kind, file="f", frame=frame), today=TODAY)
    return identify(result.kept, kind).kept


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("kind", ["units", "reports", "offers"])
@settings(max_examples=15)
@given(data=st.data())
def test_written_and_read_back_is_the_same(kind, form, data):
    before = known(kind, data.draw(rows_of(kind)))
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place) / "out"
        written = write_tables(folder, {kind: before}, form=form)
        assert written["rows"].sum() == before.height
        if before.is_empty():
            assert list(folder.iterdir()) == []
            return
        (table,) = read_tables(folder)
        again = clean(table, today=TODAY)
    assert again.rejected.height == 0, again.rejected["reason"].to_list()
    after = identify(again.kept, kind).kept
    # Where only entered_on says how far the own date reaches, it is written and is no stand-in.
    drop = ["file", "line", "reconstructed", *private_columns(kind)]
    assert_frame_equal(after.drop(drop), before.drop(drop))
    # what is private is not handed on
    assert all(after[name].null_count() == after.height for name in private_columns(kind))


def one_report(**cells):
    return known("reports", [{"unit": "A", "date": "2020-05-04", "kind": "working", **cells}])


def test_entered_on_is_blank_where_it_was_reconstructed(tmp_path):
    frame = pl.concat(
        [
            one_report(),
            one_report(notes="b", entered_on="2021-01-01"),
            one_report(date="2026"),
        ]
    )
    write_tables(tmp_path, {"reports": frame})
    (table,) = read_tables(tmp_path)
    assert table.frame["entered_on"].to_list() == ["", "2021-01-01", "2026-11-25"]
    later = clean(table, today=date(2027, 3, 1)).kept
    assert later["date_latest"].to_list() == frame["date_latest"].to_list()
    assert later["entered_on"].to_list() == frame["entered_on"].to_list()


@pytest.mark.parametrize("form", FORMS)
def test_texts_that_look_like_formulas_are_not_altered(tmp_path, form):
    frame = one_report(notes="=1+1", symptom="-x", positions="@all", by="+1")
    write_tables(tmp_path, {"reports": frame}, form=form)
    (table,) = read_tables(tmp_path)
    again = clean(table, today=TODAY).kept.row(0, named=True)
    assert [again[c] for c in ("notes", "symptom", "positions", "by")] == [
        "=1+1",
        "-x",
        "@all",
        "+1",
    ]


def test_columns_are_ours_in_order(tmp_path):
    write_tables(tmp_path, {"reports": one_report()})
    header = (tmp_path / "reports.csv").read_text().splitlines()[0]
    assert header.startswith("record,entered_on,supersedes,source,by,unit,date,kind,")
    assert [p.name for p in tmp_path.iterdir()] == ["reports.csv"]


def test_a_folder_that_holds_them_already_is_left_alone(tmp_path):
    (tmp_path / "reports.csv").write_text("mine")
    with pytest.raises(BadInput, match=r"already holds reports\.csv"):
        write_tables(tmp_path, {"reports": one_report()})
    assert (tmp_path / "reports.csv").read_text() == "mine"


def test_a_failure_leaves_nothing_half_written(tmp_path, monkeypatch):
    def fail(self, *args, **kwargs):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(pl.DataFrame, "write_csv", fail)
    with pytest.raises(BadInput, match="No space left"):
        write_tables(tmp_path / "out", {"reports": one_report()})
    assert list((tmp_path / "out").iterdir()) == []


def test_unknown_form_and_unwritable_place(tmp_path):
    with pytest.raises(BadInput, match="no form of export; choose of csv, xlsx, parquet"):
        write_tables(tmp_path, {}, form="ods")
    (tmp_path / "file").write_text("x")
    with pytest.raises(BadInput, match="cannot be written"):
        write_tables(tmp_path / "file", {"reports": one_report()})
