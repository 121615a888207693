"""Taking records back: nothing is deleted, a row in `withdrawn` says that one no longer counts."""

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.errors import Conflict, NotKnown
from fleet.frames import REJECTED, clean_schema, empty_frame
from fleet.store.append import Written, append_within, judge_within
from fleet.store.reads import check_import
from fleet.store.session import reading, writing
from fleet.store.statements import fetch, register, statement

if TYPE_CHECKING:
    import duckdb


def withdraw(
    path: Path,
    *,
    import_id: str | None = None,
    records: Sequence[str] | None = None,
    today: date,
    by: str | None,
    moment: datetime | None = None,
) -> int:
    """Take back the records of one import, or single records; how many were.

    A record that one of them corrected counts again. Those of the import that had been taken
    back already are passed over. The photos of a report go with it, whenever they were added.

    Raises
    ------
    NotKnown
        There is no such import or record.
    Conflict
        Everything was taken back already, or a record that is not taken back corrects one of
        them, or the import is itself a taking back.
    """
    if (import_id is None) == (records is None):
        raise TypeError("give import_id or records")

    def work(con: "duckdb.DuckDBPyConnection") -> int:
        if import_id is not None:
            targets = _of_import(con, import_id)
            what = f"undo of {import_id}"
        else:
            targets = _of_records(con, list(dict.fromkeys(records or ())))
            what = "records taken back"
        rows = _withdrawals(con, _with_photos(con, targets), today, by)
        written = Written(what=what, today=today, by=by, moment=moment)
        done = append_within(con, {"withdrawn": rows}, empty_frame(REJECTED), written)
        _refuse(done.rejected)
        return rows.height

    return writing(path, work)


def look_at_withdrawal(path: Path, *, import_id: str, today: date) -> pl.DataFrame:
    """The records `withdraw` would take back of one import: kind, record, corrects (the record
    that would count again, or null). Nothing is written; raises what `withdraw` would.
    """

    def work(con: "duckdb.DuckDBPyConnection") -> pl.DataFrame:
        targets = _with_photos(con, _of_import(con, import_id))
        rows = _withdrawals(con, targets, today, None)
        _refuse(judge_within(con, {"withdrawn": rows}, empty_frame(REJECTED)).rejected)
        return targets.select("kind", "record", corrects="supersedes")

    return reading(path, work)


def _refuse(rejected: pl.DataFrame) -> None:
    if rejected.is_empty():
        return
    reasons = rejected["reason"].unique(maintain_order=True).to_list()
    more = f" (and {len(reasons) - 3} more)" if len(reasons) > 3 else ""
    raise Conflict(f"nothing was taken back: {'; '.join(reasons[:3])}{more}")


def _of_import(con: "duckdb.DuckDBPyConnection", import_id: str) -> pl.DataFrame:
    """The standing records of an import: kind, record, supersedes."""
    check_import(con, import_id)
    rows = fetch(con, statement("import_records"), {"import_id": import_id})
    own = rows.filter(pl.col("kind") != "withdrawn")
    elsewhere = rows.filter(
        pl.col("withdraws").is_not_null() & ~pl.col("withdraws").is_in(own["record"].implode())
    )
    if own.is_empty() and elsewhere.height:
        raise Conflict(
            f"import {import_id} only took records back; import or enter those again instead"
        )
    if elsewhere.height:
        raise Conflict(
            f"import {import_id} itself took back {elsewhere.height} records of earlier imports, "
            f"such as {elsewhere['withdraws'][0]}; enter those again and take back its other "
            "records one by one"
        )
    if own.is_empty():
        raise Conflict(f"import {import_id} brought no records; there is nothing to take back")
    standing = own.filter(pl.col("withdrawn_by").is_null())
    if standing.is_empty():
        raise Conflict(f"import {import_id} was taken back already; import the file again")
    return standing.select("kind", "record", "supersedes")


def _of_records(con: "duckdb.DuckDBPyConnection", records: list[str]) -> pl.DataFrame:
    wanted = pl.DataFrame({"record": records}, schema={"record": pl.String})
    names = wanted.select(name=pl.col("record").str.replace(r"~[0-9]+$", "")).unique()
    register(con, "names", names)
    held = fetch(con, statement("held"))
    con.unregister("names")
    found = wanted.join(
        held.select("record", "kind", "withdrawn_by"),
        on="record",
        how="left",
        maintain_order="left",
    )
    missing = found.filter(pl.col("kind").is_null())["record"].to_list()
    if missing or not records:
        raise NotKnown(
            f"there is no record {', '.join(missing[:5])}; take the id from a table or an export"
            if missing
            else "name at least one record to take back"
        )
    gone = found.filter(pl.col("withdrawn_by").is_not_null())["record"].to_list()
    if gone:
        raise Conflict(f"record {', '.join(gone[:5])} was taken back already; nothing was changed")
    return found.select("kind", "record")


def _with_photos(con: "duckdb.DuckDBPyConnection", targets: pl.DataFrame) -> pl.DataFrame:
    """The targets and the standing photos of the reports among them."""
    register(con, "targets", targets.select("kind", "record"))
    photos = fetch(con, statement("photos_of_reports"))
    con.unregister("targets")
    return pl.concat([targets, photos], how="diagonal") if photos.height else targets


def _withdrawals(
    con: "duckdb.DuckDBPyConnection", targets: pl.DataFrame, today: date, by: str | None
) -> pl.DataFrame:
    """clean_schema("withdrawn") rows. One record is taken back once at most, so that the id of
    the row can be made from it and two copies of a store agree on it.
    """
    register(con, "targets", targets.with_row_index("place"))
    hashed = fetch(con, statement("withdrawal_ids"))
    con.unregister("targets")
    schema = clean_schema("withdrawn")
    return hashed.select(
        pl.col("content").str.slice(0, 16).str.replace("^", "w-").alias("record"),
        pl.lit(today).alias("entered_on"),
        pl.lit(False).alias("reconstructed"),
        pl.lit(by, pl.String).alias("by"),
        "content",
        "kind",
        pl.col("record").alias("withdraws"),
        *(pl.lit(None, schema[c]).alias(c) for c in ("file", "line", "supersedes", "source")),
    ).select(schema.names())
