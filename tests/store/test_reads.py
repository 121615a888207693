"""What stands on a day, by hand; histories, single records, stamps and notes."""

from datetime import date, timedelta

import polars as pl
import pytest

from fleet import store
from fleet.errors import NotKnown
from fleet.frames import KINDS, REJECTED, clean_schema, empty_frame, known_schema

JAN, FEB, MAR, APR = (date(2020, month, 1) for month in (1, 2, 3, 4))
DAY = timedelta(days=1)


def test_a_correction_counts_from_the_day_it_was_entered(put_units, current):
    put_units(
        {"record": "a", "entered_on": JAN},
        {"record": "b", "entered_on": FEB, "supersedes": "a"},
        {"record": "c", "entered_on": MAR, "supersedes": "b"},
    )
    assert current(as_of=JAN - DAY) == []
    assert current(as_of=JAN) == ["a"]
    assert current(as_of=FEB - DAY) == ["a"]
    assert current(as_of=FEB) == ["b"]
    assert current(as_of=MAR) == ["c"]
    assert current() == ["c"]


def test_without_a_day_of_entry_it_was_always_known(put_units, current):
    put_units({"record": "a", "entered_on": None, "reconstructed": True})
    assert current(as_of=date(1900, 1, 1)) == ["a"]


def test_taking_back_counts_from_its_own_day(put, put_units, rows, current):
    put_units({"record": "a", "entered_on": JAN})
    put(
        withdrawn=rows(
            "withdrawn", {"record": "w", "kind": "units", "withdraws": "a", "entered_on": MAR}
        )
    )
    assert current(as_of=MAR - DAY) == ["a"]
    assert current(as_of=MAR) == []
    assert current("withdrawn", as_of=MAR - DAY) == []
    assert current("withdrawn", as_of=MAR) == ["w"]


def test_taking_back_counts_at_every_date_where_the_day_of_entry_only_stands_in(
    put, put_units, rows, current
):
    put_units({"record": "a", "entered_on": JAN, "reconstructed": True})
    put(
        withdrawn=rows(
            "withdrawn", {"record": "w", "kind": "units", "withdraws": "a", "entered_on": MAR}
        )
    )
    assert current(as_of=FEB) == []


def test_what_came_again_is_not_counted_twice_at_an_earlier_date(put, put_units, rows, current):
    """Both entries carry the day from the file; the first was taken back only later."""
    put_units({"record": "a", "entered_on": JAN}, {"record": "z", "entered_on": JAN})
    put(
        withdrawn=rows(
            "withdrawn", {"record": "w", "kind": "units", "withdraws": "a", "entered_on": MAR}
        )
    )
    put_units({"record": "a", "entered_on": JAN})
    assert current(as_of=FEB) == ["a~2", "z"]
    assert current() == ["a~2", "z"]


@pytest.mark.parametrize(
    ("earliest", "latest", "counts"),
    [
        (JAN, JAN, True),
        (JAN, FEB, True),
        (JAN, FEB + DAY, False),
        (JAN, None, True),  # open end: bounded by the day asked for
        (MAR, None, False),
        (None, JAN, True),
        (None, None, True),
    ],
)
@pytest.mark.parametrize("kind", ["reports", "readings"])
def test_reports_and_readings_count_from_their_latest_day(
    put, rows, current, kind, earliest, latest, counts
):
    row = {
        "record": "r",
        "entered_on": JAN,
        "unit": "TL-1",
        "date": "some day",
        "date_earliest": earliest,
        "date_latest": latest,
    }
    put(**{kind: rows(kind, row)})
    assert current(kind, as_of=FEB) == (["r"] if counts else [])
    assert current(kind) == ["r"]


def test_a_later_import_with_the_same_rows_in_another_order_reads_the_same(tmp_path, rows):
    frame = rows(
        "reports",
        *(
            {"unit": unit, "date": str(day), "date_earliest": day, "date_latest": day, "kind": k}
            for unit in ("B", "A")
            for day in (FEB, JAN)
            for k in ("working", "note")
        ),
    )
    read = []
    for name, seed in (("x", 1), ("y", 2)):
        path = tmp_path / f"{name}.duckdb"
        store.create(path)
        shuffled = frame.sample(fraction=1.0, shuffle=True, seed=seed)
        store.append(
            path, {"reports": shuffled}, empty_frame(REJECTED), what="x", today=APR, by=None
        )
        read.append(store.known(path, ["reports"])["reports"])
    assert read[0].equals(read[1])
    assert read[0]["unit"].to_list() == ["A"] * 4 + ["B"] * 4
    assert read[0]["date_earliest"].to_list() == [JAN, JAN, FEB, FEB] * 2


def test_an_empty_store_keeps_the_contract(path):
    found = store.known(path, list(KINDS))
    assert {kind: frame.schema for kind, frame in found.items()} == {
        kind: known_schema(kind) for kind in KINDS
    }
    with pytest.raises(NotKnown, match="there is no record kind toasters"):
        store.known(path, ["toasters"])


def test_history_has_every_row_and_what_became_of_it(path, put, put_units, rows):
    put_units({"record": "a"}, {"record": "b", "supersedes": "a"}, {"record": "c"})
    put(withdrawn=rows("withdrawn", {"record": "w", "kind": "units", "withdraws": "c"}))
    put_units({"record": "c"})
    found = store.history(path, "units")
    assert found.columns == [
        *(c for c in clean_schema("units").names() if c != "private_notes"),
        "import_id",
        "superseded_by",
        "withdrawn_by",
    ]
    told = found.select("record", "import_id", "superseded_by", "withdrawn_by").rows()
    assert sorted(told) == [
        ("a", "i-0001", "b", None),
        ("b", "i-0001", None, None),
        ("c", "i-0001", None, "w"),
        ("c~2", "i-0003", None, None),
    ]


def test_history_put_into_a_new_store_gives_the_same_answers(
    path, tmp_path, put, put_units, rows, current
):
    put_units({"record": "a", "entered_on": JAN}, {"record": "b", "entered_on": JAN})
    put_units({"record": "a2", "entered_on": FEB, "supersedes": "a"})
    store.withdraw(path, import_id="i-0002", today=MAR, by=None)
    put_units({"record": "a2", "entered_on": FEB, "supersedes": "a"})
    put_units({"record": "a3", "entered_on": APR, "supersedes": "a2"})
    tables = {
        kind: pl.concat(
            [empty_frame(clean_schema(kind)), store.history(path, kind)], how="diagonal"
        ).select(clean_schema(kind).names())
        for kind in ("withdrawn", "units")
    }
    other = tmp_path / "other.duckdb"
    store.create(other)
    done = store.append(other, tables, empty_frame(REJECTED), what="x", today=APR, by=None)
    assert done.rejected.is_empty()
    days = [JAN - DAY, JAN, FEB, MAR - DAY, MAR, APR, None]
    for day in days:
        known = store.known(other, ["units"], as_of=day)["units"]
        assert sorted(known["record"]) == current(as_of=day), day
    assert current() == ["a3", "b"]
    # And into the store it came from: nothing new.
    before = path.read_bytes()
    again = store.append(path, tables, empty_frame(REJECTED), what="x", today=APR, by=None)
    assert again.import_id is None
    assert again.counts["already_known"].sum() == 6
    assert path.read_bytes() == before


def test_a_record_by_its_id_or_the_beginning(path, put_units):
    put_units({"record": "u-12"}, {"record": "u-123"}, {"record": "u-2", "supersedes": "u-12"})
    kind, row = store.find_record(path, "u-12")
    assert (kind, row["record"].to_list(), row["superseded_by"].to_list()) == (
        "units",
        ["u-12"],
        ["u-2"],
    )
    assert store.find_record(path, "u-123")[1]["record"].to_list() == ["u-123"]
    assert store.find_record(path, "u-2")[1]["unit"].to_list() == ["u-2"]
    with pytest.raises(NotKnown, match="several ids begin with u-1: u-12, u-123; write more"):
        store.find_record(path, "u-1")
    for nothing in ("x", "", "%", "u_2"):
        with pytest.raises(NotKnown, match=f"no record's id begins with '{nothing}'"):
            store.find_record(path, nothing)


def test_the_stamp_changes_with_every_write_and_only_then(path, put_units):
    stamps = [store.stamp(path), store.stamp(path)]
    assert stamps[0] == stamps[1]
    put_units({"record": "a"})
    stamps.append(store.stamp(path))
    store.set_note(path, "k", "v")
    stamps.append(store.stamp(path))
    store.withdraw(path, import_id="i-0001", today=APR, by=None)
    stamps.append(store.stamp(path))
    assert len(set(stamps[1:])) == 4


def test_notes(path):
    assert store.get_note(path, "invented") is None
    store.set_note(path, "invented", "yes")
    store.set_note(path, "other", "'; DROP TABLE units; --")
    store.set_note(path, "invented", "no")
    assert store.get_note(path, "invented") == "no"
    assert store.get_note(path, "other") == "'; DROP TABLE units; --"
    store.set_note(path, "invented", None)
    assert store.get_note(path, "invented") is None
