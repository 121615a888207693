"""Frames brought up to date must be the frames that a whole new reading gives."""

import shutil
from datetime import date

import polars as pl
import pytest
from polars.testing import assert_frame_equal

from fleet.flow.entering import amend_record, log_reports, take_back
from fleet.store import known, recent

TODAY = date(2024, 7, 1)
KINDS = ("sources", "models", "positions", "batches", "units", "reports", "readings")


@pytest.fixture(autouse=True)
def nothing_kept():
    recent.forget()
    yield
    recent.forget()


@pytest.fixture
def store(tmp_path):
    from fleet.flow.entering import create_store
    from fleet.flow.importing import import_files

    tables = {
        "sources": ["source,collecting_since", "Club,1990-01-01"],
        "models": ["model", "MA", "MB"],
        "units": ["unit,model,manufactured,enrolled_on,enrolled_because,source"]
        + [f"U{n},M{'AB'[n % 2]},2000-05-01,2000-05-01,working,Club" for n in range(9)],
        "reports": ["unit,kind,date", *(f"U{n},working,201{n}-03-0{n + 1}" for n in range(9))],
    }
    files = []
    for kind, lines in tables.items():
        files.append(tmp_path / f"{kind}.csv")
        files[-1].write_text("\n".join(lines) + "\n")
    made = tmp_path / "s.duckdb"
    create_store(made)
    import_files(made, files, today=date(2024, 1, 1), by=None)
    return made


def _log(store, unit, kind="working", today=TODAY, **fields):
    done = log_reports(store, kind, [unit], fields, today=today, by=None, anyway=True)
    return done.records[0]


def _same(store, *days):
    for day in (None, *days):
        again, anew = recent.known_again(store, KINDS, as_of=day), known(store, KINDS, as_of=day)
        for kind in KINDS:
            assert_frame_equal(again[kind], anew[kind], check_exact=True)


def test_the_same_frames_are_given_while_nothing_changes(store):
    one, two = (recent.known_again(store, KINDS) for _ in range(2))
    assert all(one[kind] is two[kind] for kind in KINDS)


def test_a_report_leaves_the_frames_of_other_kinds_and_of_earlier_days(store):
    day = date(2020, 1, 1)
    now, then = recent.known_again(store, KINDS), recent.known_again(store, KINDS, as_of=day)
    _log(store, "U3", date="2024-06-30")
    new, old = recent.known_again(store, KINDS), recent.known_again(store, KINDS, as_of=day)
    assert new["units"] is now["units"]
    assert new["reports"].height == now["reports"].height + 1
    assert all(old[kind] is then[kind] for kind in KINDS)


def test_every_kind_of_change_gives_what_a_whole_reading_gives(store):
    days = (date(2015, 1, 1), TODAY)
    _same(store, *days)
    first = _log(store, "U3", date="2024-06-30")
    _same(store, *days)
    second = _log(store, "U0", date="2013", notes="first in order of names")
    _same(store, *days)
    amend_record(store, first, {"date": "2024-06-29"}, today=TODAY, by=None)
    _same(store, *days)
    take_back(store, [second], today=TODAY, by=None)
    _same(store, *days)
    _log(store, "U0", date="2013", notes="first in order of names")  # entered again
    _same(store, *days)
    for n in range(3):
        _log(store, f"U{n}", "failed", date=f"2024-0{n + 2}", cause="capacitor")
    _same(store, *days, date(2024, 3, 1))


def test_a_correction_entered_later_does_not_show_on_an_earlier_day(store):
    made = _log(store, "U3", date="2024-06-30")
    recent.known_again(store, KINDS, as_of=TODAY)
    amend_record(store, made, {"date": "2024-06-01"}, today=date(2024, 8, 1), by=None)
    _same(store, TODAY, date(2024, 8, 1))


def test_a_store_put_in_its_place_is_read_anew(store, tmp_path):
    other = tmp_path / "other.duckdb"
    shutil.copy(store, other)
    _log(store, "U3", date="2024-06-30")
    recent.known_again(store, KINDS)
    _log(other, "U4", date="2024-06-30")  # as many rows, as many imports, other ones
    shutil.copy(other, store)
    _same(store, TODAY)
    assert recent.known_again(store, ["reports"])["reports"].filter(pl.col("date") == "2024-06-30")[
        "unit"
    ].to_list() == ["U4"]


def test_many_rows_at_once_are_read_anew(store, tmp_path):
    from fleet.flow.importing import import_files

    recent.known_again(store, KINDS)
    lines = [f"U{n % 9},working,20{n // 28 + 10}-02-{n % 28 + 1:02d}" for n in range(400)]
    (tmp_path / "reports.csv").write_text("\n".join(["unit,kind,date", *lines]) + "\n")
    import_files(store, [tmp_path / "reports.csv"], today=TODAY, by=None)
    _same(store, TODAY)


def test_private_notes_are_never_kept(store):
    from fleet.frames import known_schema

    frames = recent.known_again(store, KINDS)
    for kind in KINDS:
        assert frames[kind].columns == known_schema(kind).names()
        assert "private_notes" not in frames[kind].columns
