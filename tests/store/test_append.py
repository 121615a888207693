from datetime import date, datetime
from importlib import import_module

import polars as pl
import pytest

from fleet import store
from fleet.errors import BadFrame, NotKnown
from fleet.frames import REJECTED, clean_schema, empty_frame


def _counts(appended):
    return appended.counts.select("rows", "rows_kept", "already_known", "rejected").rows()


def _reasons(appended):
    return appended.rejected["reason"].to_list()


def test_rows_come_back_as_they_went_in(path, put, rows, today):
    frame = rows(
        "units",
        {
            "unit": "TL-1",
            "model": "BM-2",
            "manufactured": "199X",
            "manufactured_earliest": date(1990, 1, 1),
            "manufactured_latest": date(1999, 12, 31),
            "ambient_c": -3.5,
            "notes": 'a "quoted", long; note\nin lines \u00b5F ' + "x" * 10_000,
            "by": "ann",
        },
    )
    done = put(units=frame)
    assert done.import_id == "i-0001"
    known = store.known(path, ["units"])["units"]
    assert known.drop("import_id").equals(frame.drop("file", "line", "private_notes"))
    assert known["import_id"].to_list() == ["i-0001"]


def test_the_list_of_imports(path, rows, today):
    moment = datetime.fromisoformat("2026-11-25T20:15:03")
    for n in (1, 2):
        tables = {"units": rows("units", {"unit": f"TL-{n}", "model": "BM-2"})}
        store.append(
            path, tables, empty_frame(REJECTED), what="units.csv", today=today, by="ann",
            moment=moment,
        )  # fmt: skip
    assert store.imports(path).rows() == [
        ("i-0001", moment, today, "ann", "units.csv", 1, 1, 0, 0, None, 0),
        ("i-0002", moment, today, "ann", "units.csv", 1, 1, 0, 0, None, 0),
    ]


def test_the_same_again_changes_nothing_to_the_byte(path, put, rows):
    tables = {
        "units": rows("units", {"unit": "TL-1"}, {"unit": "TL-2"}),
        "withdrawn": rows("withdrawn", {"kind": "units", "withdraws": "u-9"}),
    }
    tables["units"] = pl.concat([tables["units"], rows("units", {"record": "u-9", "unit": "X"})])
    bad = pl.DataFrame([("a.csv", "units", 7, "no unit", "model=BM-2")], REJECTED, orient="row")
    first = put(bad, **tables)
    before, stamp = path.read_bytes(), store.stamp(path)
    again = put(bad, **tables)
    assert (first.import_id, again.import_id) == ("i-0001", None)
    assert _counts(again) == [(3, 0, 3, 0), (1, 0, 1, 0), (1, 0, 0, 1)]
    assert path.read_bytes() == before
    assert store.stamp(path) == stamp


def test_rows_twice_in_one_import(put, rows):
    done = put(units=rows("units", {"unit": "TL-1"}, {"unit": "TL-1"}, {"unit": "TL-2"}))
    assert _counts(done) == [(3, 2, 1, 0)]


def test_one_id_for_two_rows(put_units):
    put_units({"record": "u-1", "unit": "TL-1"})
    done = put_units({"record": "u-1", "unit": "TL-2"})
    assert done.import_id == "i-0002"  # the refused row is kept
    assert _reasons(done) == [
        "the store has u-1 already, among the units, with other content; give this row an id of "
        "its own and, if it corrects that record, name it in supersedes"
    ]
    done = put_units({"record": "u-5", "unit": "A"}, {"record": "u-5", "unit": "B"})
    assert _reasons(done) == [
        "the id u-5 stands for another row before this one; give this row an id of its own"
    ]


def test_ids_are_unique_over_all_kinds(put, rows, put_units):
    put_units({"record": "x-1"})
    done = put(stock=rows("stock", {"record": "x-1", "part": "P", "quantity": 2}))
    assert "among the units" in _reasons(done)[0]


def test_a_refused_row_is_kept_with_its_line_and_text(path, put_units):
    put_units({"record": "u-1", "unit": "TL-1", "ambient_c": 1.5, "supersedes": "u-0"})
    assert store.rejects(path).rows() == [
        (
            "units.csv",
            "units",
            2,
            "corrects u-0, which the store does not have; name the record it corrects",
            "record=u-1; supersedes=u-0; unit=TL-1; model=BM-2; ambient_c=1.5",
            "i-0001",
        )
    ]


def test_refused_before_and_refused_here_are_both_kept_once(path, put, rows):
    before = pl.DataFrame(
        [("a.csv", "units", 7, "no unit", "x"), ("a.csv", "units", 9, "no unit", "x")],
        REJECTED,
        orient="row",
    )
    bad = rows("units", {"unit": "TL-1", "supersedes": "u-0"})
    done = put(before, units=bad)
    assert done.rejected["line"].to_list() == [7, 9, 2]
    assert store.rejects(path)["line"].to_list() == [7, 9, 2]
    more = pl.DataFrame([("b.csv", "units", 1, "no model", "x")], REJECTED, orient="row")
    done = put(pl.concat([before, more]), units=bad)
    assert done.import_id == "i-0002"
    assert store.rejects(path)["line"].to_list() == [7, 9, 2, 1]
    assert store.rejects(path, "i-0002")["reason"].to_list() == ["no model"]
    with pytest.raises(NotKnown, match="there is no import i-0009; the latest is i-0002"):
        store.rejects(path, "i-0009")


def test_rejects_without_text_are_stored_once_too(path, put):
    bad = pl.DataFrame([("a.csv", None, None, "is empty", None)], REJECTED, orient="row")
    assert put(bad).import_id == "i-0001"
    assert put(bad).import_id is None
    assert store.rejects(path).height == 1


def test_tables_without_their_contract_are_refused(put, rows):
    good = rows("units", {"unit": "TL-1"})
    with pytest.raises(NotKnown, match="there is no record kind toasters; the kinds are sources"):
        put(toasters=good)
    with pytest.raises(BadFrame, match="the units table has no column site"):
        put(units=good.drop("site"))
    with pytest.raises(BadFrame, match="column record of the units table has rows without"):
        put(units=good.with_columns(record=pl.lit(None, pl.String)))


def test_the_caller_keeps_its_frame(put, rows):
    frame = rows("units", {"unit": "TL-1"}).with_columns(extra=pl.lit(1))
    copy = frame.clone()
    assert put(units=frame).import_id == "i-0001"
    assert frame.equals(copy)


def test_nothing_at_all(path, put, rows):
    assert put().import_id is None
    assert put(units=pl.DataFrame(schema=clean_schema("units"))).import_id is None
    assert store.imports(path).is_empty()


def test_all_or_nothing(path, put, rows, monkeypatch):
    """The list of imports is written last: a fault there takes the rows back too."""
    module = import_module("fleet.store.append")  # the name itself is the function
    real = module.run

    def failing(con, name, /, **values):
        if name == "insert_import":
            raise KeyboardInterrupt
        real(con, name, **values)

    before = path.read_bytes()
    monkeypatch.setattr(module, "run", failing)
    with pytest.raises(KeyboardInterrupt):
        put(units=rows("units", {"unit": "TL-1"}))
    monkeypatch.undo()
    assert path.read_bytes() == before
    assert store.known(path, ["units"])["units"].is_empty()
