"""Adding rows: everything that arrives together is stored together, or nothing is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.errors import BadFrame, NotKnown
from fleet.frames import KINDS, REJECTED, check_frame, clean_schema
from fleet.occasion import occasion
from fleet.store.images import put_images
from fleet.store.judging import INCOMING, KEPT, KNOWN, REFUSED, keys_of, names_in
from fleet.store.session import reading, writing
from fleet.store.sort_out import sort_out
from fleet.store.statements import fetch, register, run, statement, statement_for

if TYPE_CHECKING:
    import duckdb


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Appended:
    """What became of rows handed to the store.

    `import_id` is None where nothing was new. `counts` has one row per file and kind: file,
    kind, rows, rows_kept, already_known, rejected; rows is the sum of the other three.
    `rejected` (REJECTED) holds the rows refused before, as handed in, then those the store
    refused. `kept` (kind, given, record) has the ids under which new rows are stored; they
    differ from the ids given for records that had been taken back.
    """

    import_id: str | None
    counts: pl.DataFrame
    rejected: pl.DataFrame
    kept: pl.DataFrame


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Written:
    """Who adds what, when: columns of the table of imports."""

    what: str
    today: date
    by: str | None
    moment: datetime | None


def append(
    path: Path,
    tables: Mapping[str, pl.DataFrame],
    rejected: pl.DataFrame,
    *,
    what: str,
    today: date,
    by: str | None,
    moment: datetime | None = None,
    images: Mapping[str, bytes | Path] | None = None,
) -> Appended:
    """Store clean rows and refused rows in one transaction; see `Appended`.

    Parameters
    ----------
    tables
        Kind to rows with the columns of clean_schema(kind); `record` and `content` not null.
    rejected
        REJECTED: rows refused before they came here, kept for good. One refused again, with
        the same text and for the same reason, is counted but not stored twice.
    what
        Where the rows come from, in words, for the list of imports.
    moment
        When; kept without a zone, in UTC where it has one. None: as the occasion's clock says, if
        there is one (fleet.occasion, which also says through what and by whom signed in).
    images
        The pictures of new photos by their SHA-256, or the files that hold them (read one at a
        time). Those the store holds already may be left out.

    Raises
    ------
    BadFrame
        A table without its contract.
    NotKnown
        A kind there is not, or a photo whose picture neither the store nor `images` has.
    StoreProblem
        The store cannot be written.
    """
    for kind, frame in tables.items():
        _check(kind, frame)
    check_frame(rejected, REJECTED, name="rejected")
    written = Written(what=what, today=today, by=by, moment=moment)

    def work(con: "duckdb.DuckDBPyConnection") -> Appended:
        done = append_within(con, tables, rejected, written)
        if done.import_id is not None and "photos" in tables:
            put_images(con, images or {}, done.import_id)
        return done

    return writing(path, work)


def look(path: Path, tables: Mapping[str, pl.DataFrame], rejected: pl.DataFrame) -> "Judged":
    """What `append` would do with the same arguments; nothing is written. Raises what it does."""
    for kind, frame in tables.items():
        _check(kind, frame)
    check_frame(rejected, REJECTED, name="rejected")
    return reading(path, lambda con: judge_within(con, tables, rejected))


def _check(kind: str, frame: pl.DataFrame) -> None:
    if kind not in KINDS:
        raise NotKnown(f"there is no record kind {kind}; the kinds are {', '.join(KINDS)}")
    check_frame(frame, clean_schema(kind), name=kind)
    for column in ("record", "content"):
        if frame[column].null_count():
            raise BadFrame(f"column {column} of the {kind} table has rows without a value")


def append_within(
    con: "duckdb.DuckDBPyConnection",
    tables: Mapping[str, pl.DataFrame],
    rejected: pl.DataFrame,
    written: Written,
) -> Appended:
    """`append` within a transaction that is open already."""
    judged = judge_within(con, tables, rejected)
    import_id = _store(con, judged, written)
    return Appended(
        import_id=import_id, counts=judged.counts, rejected=judged.rejected, kept=judged.given
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Judged:
    """Arriving rows sorted out, before any is written: `kept` by kind as they would be stored,
    and the other columns of `Appended` (`given` is its `kept`).
    """

    kept: dict[str, pl.DataFrame]
    rejected: pl.DataFrame
    counts: pl.DataFrame
    given: pl.DataFrame


def judge_within(
    con: "duckdb.DuckDBPyConnection", tables: Mapping[str, pl.DataFrame], rejected: pl.DataFrame
) -> Judged:
    """Which rows are new, known already or refused, on a connection that is open already."""
    incoming = pl.concat(
        [pl.DataFrame(schema=INCOMING), *(keys_of(kind, frame) for kind, frame in tables.items())]
    )
    verdicts = sort_out(incoming, _held(con, incoming))
    kept: dict[str, pl.DataFrame] = {}
    given, refused, counts = [], [rejected.select(REJECTED.names())], []
    start = 0
    for kind, frame in tables.items():
        judged = frame.select(clean_schema(kind).names()).with_columns(
            verdicts.slice(start, frame.height).rename({"record": "stored_as"})
        )
        start += frame.height
        new = judged.filter(pl.col("verdict") == KEPT)
        given.append(new.select(pl.lit(kind).alias("kind"), given="record", record="stored_as"))
        kept[kind] = new.with_columns(record="stored_as").select(clean_schema(kind).names())
        refused.append(_refused_rows(kind, judged.filter(pl.col("verdict") == REFUSED)))
        counts.append(judged.select("file", pl.lit(kind).alias("kind"), "verdict"))
    counts.append(rejected.select("file", "kind", verdict=pl.lit(REFUSED)))
    return Judged(
        kept=kept,
        rejected=pl.concat(refused),
        counts=_count(pl.concat(counts)),
        given=pl.concat(
            [
                pl.DataFrame(schema={"kind": pl.String, "given": pl.String, "record": pl.String}),
                *given,
            ]
        ),
    )


def _held(con: "duckdb.DuckDBPyConnection", incoming: pl.DataFrame) -> pl.DataFrame:
    register(con, "names", names_in(incoming))
    held = fetch(con, statement("held"))
    con.unregister("names")
    return held


def _refused_rows(kind: str, rows: pl.DataFrame) -> pl.DataFrame:
    """REJECTED rows; the text of a row is its filled columns as name=value."""
    own = [c.name for c in KINDS[kind].columns if not c.private]
    shown = ["record", "supersedes", *(c for c in own if c not in ("record", "supersedes"))]
    parts = [pl.format("{}={}", pl.lit(c), pl.col(c).cast(pl.String)) for c in shown]
    text = pl.concat_str(parts, separator="; ", ignore_nulls=True)
    return rows.select("file", pl.lit(kind).alias("kind"), "line", "reason", text.alias("row"))


def _count(verdicts: pl.DataFrame) -> pl.DataFrame:
    return verdicts.group_by("file", "kind", maintain_order=True).agg(
        rows=pl.len().cast(pl.Int64),
        rows_kept=(pl.col("verdict") == KEPT).sum().cast(pl.Int64),
        already_known=(pl.col("verdict") == KNOWN).sum().cast(pl.Int64),
        rejected=(pl.col("verdict") == REFUSED).sum().cast(pl.Int64),
    )


def _store(con: "duckdb.DuckDBPyConnection", judged: Judged, written: Written) -> str | None:
    """Write what is new; the id of the import, or None where nothing is and nothing is written."""
    kept, counts = judged.kept, judged.counts
    register(con, "refused", judged.rejected.with_row_index("place"))
    anew = fetch(con, statement("new_rejects"))
    con.unregister("refused")
    if anew.is_empty() and all(frame.is_empty() for frame in kept.values()):
        return None
    run(con, "count_write")
    number = con.execute(statement("next_import")).fetchall()[0][0]
    import_id = f"i-{number:04d}"
    for kind, frame in kept.items():
        if frame.is_empty():
            continue
        register(con, "arriving", frame.with_columns(import_id=pl.lit(import_id)))
        con.execute(statement_for("insert_records", kind))
        con.unregister("arriving")
    register(con, "refused_anew", anew)
    run(con, "insert_rejects", import_id=import_id)
    con.unregister("refused_anew")
    said = occasion()
    totals = {c: int(counts[c].sum()) for c in ("rows", "already_known", "rejected")}
    run(
        con,
        "insert_import",
        import_id=import_id,
        kept=int(counts["rows_kept"].sum()),
        what=written.what,
        today=written.today,
        by=said.who or written.by,
        moment=written.moment or said.moment(),
        through=said.through,
        **totals,
    )
    return import_id
