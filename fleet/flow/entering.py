"""Records entered by hand: one at a time, a roll call, a correction, and taking one back."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import BadInput, Conflict
from fleet.flow.clashes import refuse_contradicted, refuse_corrected, refuse_unseen
from fleet.flow.contradictions import contradictions, on_record
from fleet.flow.entered_codes import refuse_date_code
from fleet.flow.entered_offers import refuse_other_facts
from fleet.flow.entered_places import refuse_step_without_place, unknown_places
from fleet.flow.entered_readings import (
    oddities,
    refuse_empty,
    refuse_placeholders,
    refuse_unsaid_positions,
)
from fleet.flow.photos import add_photo
from fleet.flow.pictures import read_picture
from fleet.flow.prepare import prepare
from fleet.frames import KINDS, REJECTED, empty_frame, private_columns


@dataclass(frozen=True, slots=True, kw_only=True)
class Entered:
    """Ids of the records that were kept, those the store had already, sentences to show, and ids
    of the photos that went with a report.
    """

    records: tuple[str, ...]
    already_known: tuple[str, ...]
    notes: tuple[str, ...]
    photos: tuple[str, ...] = ()


def create_store(store: Path) -> None:
    """A new, empty store. StoreProblem when something is there already."""
    from fleet.store import create

    create(store)


def read_date(text: str) -> tuple[date | None, date | None, str | None]:
    """The first and last day an EDTF text can mean (None: open), and what is wrong with it."""
    from fleet.records import parse_edtf

    earliest, latest, reason = parse_edtf([text]).row(0)
    return earliest, latest, reason


def add_record(
    store: Path, kind: str, fields: Mapping[str, str], *, today: date, by: str | None
) -> Entered:
    """One record of any kind. Raises BadInput, NotKnown, or Conflict when its name is taken."""
    if kind not in KINDS:
        raise BadInput(f"there is no record kind {kind}; there are {', '.join(KINDS)}")
    refuse_date_code(fields, today=today)
    refuse_step_without_place(kind, fields)
    prepared = prepare(store, {kind: [fields]}, today=today, by=by)
    if kind == "units":
        _refuse_near_names(store, prepared.tables[kind]["unit"][0])
    _refuse_taken_names(store, kind, prepared.tables[kind])
    refuse_other_facts(store, kind, prepared.tables[kind])
    notes = (
        *prepared.notes,
        *unknown_places(store, prepared.tables),
        *_second_shop(store, kind, prepared.tables[kind]),
    )
    entered = _append(store, prepared.tables, f"add {kind}", today=today, by=by, notes=notes)
    return with_private_said(entered, kind, fields)


def log_reports(
    store: Path,
    kind: str,
    units: Sequence[str],
    fields: Mapping[str, str],
    *,
    readings: Sequence[Mapping[str, str]] = (),
    photos: Sequence[tuple[bytes, str]] = (),
    today: date,
    by: str | None,
    anyway: bool = False,
    seen: Collection[str] | None = None,
) -> Entered:
    """One report of `kind` for each of `units`, with readings and photos (bytes and file name)
    where there is one unit.

    All or nothing: a unit nobody knows stops the whole roll call, a photo that cannot be read the
    report it came with. Refused are words a sheet prints
    to be filled in, readings without a value, and a recap whose readings name some positions while
    nothing says which were replaced. Raises BadInput, NotKnown, and
    Clash when a report contradicts what the store holds, unless `anyway` keeps both, flagged; also
    when the units have reports that are not among `seen`, the ids somebody was shown while they
    typed (None: they were shown nothing, as at a command line).
    """
    from fleet.store.session import together

    if not units:
        raise BadInput("no unit was named; give the unit or units the report is about")
    if readings and len(units) != 1:
        raise BadInput(f"readings belong to one unit; {len(units)} units were named")
    if photos and len(units) != 1:
        raise BadInput(f"photos belong to one unit; {len(units)} units were named")
    pictures = [(read_picture(data, name), name) for data, name in photos]
    refuse_placeholders({**fields, "by": by or ""})
    refuse_empty(readings)
    refuse_unsaid_positions(kind, fields, readings)
    rows = [{**fields, "kind": kind, "unit": unit} for unit in dict.fromkeys(units)]
    wanted: dict[str, list[Mapping[str, str]]] = {"reports": list(rows)}
    if readings:
        shared = {"unit": units[0], "date": fields.get("date", "")}
        if fields.get("source"):
            shared["source"] = fields["source"]
        wanted["readings"] = [{**shared, **reading} for reading in readings]

    def work() -> Entered:
        done = _log(store, kind, wanted, today=today, by=by, anyway=anyway, seen=seen)
        if not pictures:
            return done
        (report, *_) = (*done.records, *done.already_known)
        kept = [add_photo(store, report, *one, today=today, by=by) for one in pictures]
        return replace(done, photos=tuple(kept))

    return together(store, work)


def _log(
    store: Path,
    kind: str,
    wanted: Mapping[str, Sequence[Mapping[str, str]]],
    *,
    today: date,
    by: str | None,
    anyway: bool,
    seen: Collection[str] | None,
) -> Entered:
    prepared = prepare(store, wanted, today=today, by=by)
    reports = prepared.tables["reports"]
    records = on_record(store, reports)
    found = contradictions(store, reports, records)
    if not anyway:
        refuse_contradicted(store, found)
    if seen is not None:
        refuse_unseen(store, reports, seen, records["reports"])
    odd = oddities(store, prepared.tables["readings"]) if "readings" in wanted else ()
    places = unknown_places(store, prepared.tables)
    notes = (*prepared.notes, *(f"kept although {one.sentence}" for one in found), *odd, *places)
    return _append(store, prepared.tables, f"log {kind}", today=today, by=by, notes=notes)


def amend_record(
    store: Path, record: str, changes: Mapping[str, str], *, today: date, by: str | None
) -> Entered:
    """A new record that supersedes `record`, with `changes` made to its columns.

    Raises NotKnown for no such record, BadInput for a column it has not or a value that cannot be,
    Clash where somebody corrected the record already.
    """
    from fleet.store.session import together

    if not changes:
        raise BadInput("no change was given; say which column takes which value")
    # one transaction: two who correct a record at the same moment must not pass each other
    return together(store, lambda: _amend(store, record, changes, today=today, by=by))


def _amend(
    store: Path, record: str, changes: Mapping[str, str], *, today: date, by: str | None
) -> Entered:
    from fleet.records.write import as_text
    from fleet.store import find_record

    kind, row = find_record(store, record, private=True)
    names = [column.name for column in KINDS[kind].columns]
    for name in changes:
        if name not in (*names, "source"):
            raise BadInput(f"{kind} records have no column {name}; they have {', '.join(names)}")
    refuse_date_code(changes, today=today)
    refuse_corrected(store, record, row)
    old = as_text(row, kind).row(0, named=True)
    hidden = {name: row[name][0] or "" for name in private_columns(kind)}
    fields = {name: old.get(name) or "" for name in (*names, "source")} | hidden
    fields = {**fields, **changes, "supersedes": row["record"][0]}
    prepared = prepare(store, {kind: [fields]}, today=today, by=by)
    return _append(
        store, prepared.tables, f"amend {kind}", today=today, by=by, notes=prepared.notes
    )


def with_private_said(entered: Entered, kind: str, fields: Mapping[str, str]) -> Entered:
    """With a sentence where private columns were given for a record that is there already: what is
    private is no part of what a record is recognised by.
    """
    given = [name for name in private_columns(kind) if fields.get(name)]
    if not given or not entered.already_known:
        return entered
    said = (
        f"its {given[0].replace('_', ' ')} were not touched; write them with: fleet amend "
        f"{entered.already_known[0]} --set {given[0]}=TEXT"
    )
    return replace(entered, notes=(*entered.notes, said))


def take_back(store: Path, records: Sequence[str], *, today: date, by: str | None) -> int:
    """Withdraw single records; how many were taken back. NotKnown when one is not current."""
    from fleet.store import withdraw

    return withdraw(store, records=list(records), today=today, by=by)


def _append(
    store: Path,
    tables: Mapping[str, pl.DataFrame],
    what: str,
    *,
    today: date,
    by: str | None,
    notes: tuple[str, ...],
) -> Entered:
    from fleet.store import append

    done = append(store, tables, empty_frame(REJECTED), what=what, today=today, by=by)
    if not done.rejected.is_empty():
        raise BadInput(done.rejected["reason"][0])
    ids = [record for frame in tables.values() for record in frame["record"]]
    new = dict(done.kept.select("given", "record").iter_rows())
    known = tuple(record for record in ids if record not in new)
    if known:
        notes = (*notes, f"{len(known)} of {len(ids)} known already, nothing was added for them")
    return Entered(records=tuple(new.values()), already_known=known, notes=notes)


def _refuse_taken_names(store: Path, kind: str, frame: pl.DataFrame) -> None:
    from fleet.store import known

    key = list(KINDS[kind].key)
    if not key or kind in ("reports", "readings", "withdrawn"):
        return
    same = known(store, [kind])[kind].join(frame.select(key), on=key, nulls_equal=True, how="semi")
    same = same.filter(~pl.col("content").is_in(frame["content"].to_list()))
    if same.is_empty():
        return
    name = " ".join(str(same[column][0]) for column in key if same[column][0] is not None)
    raise Conflict(
        f"{kind} already holds {name} (record {same['record'][0]}); "
        f"correct it with: fleet amend {same['record'][0]} --set COLUMN=VALUE"
    )


def _second_shop(store: Path, kind: str, frame: pl.DataFrame) -> tuple[str, ...]:
    """A sentence on which row of the shop counts, where there is more than one."""
    if kind != "shop":
        return ()
    from fleet.store import known

    others = known(store, [kind])[kind].join(frame.select("content"), on="content", how="anti")
    if others.is_empty():
        return ()
    return (
        f"the shop is on record already (record {others['record'][-1]}): of each column the last "
        "entered counts, and what this row leaves blank stays as it was",
    )


def _refuse_near_names(store: Path, unit: str) -> None:
    """Conflict where a unit's name differs from `unit` only by case or punctuation: two names
    would make two machines of one.
    """
    from fleet.records import bare
    from fleet.store import known

    for name in known(store, ["units"])["units"]["unit"]:
        if name != unit and bare(name) == bare(unit):
            raise Conflict(f"there is a unit {name}; give {unit} a name that cannot be mistaken")
