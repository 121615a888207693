"""Files into the store in one go: everything that can be kept, the rest refused with reasons."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.flow.gathering import OPEN_REPAIR, Gathered, HowToRead, gather
from fleet.flow.photo_files import pictures_beside
from fleet.flow.prepare import Prepared, known_names, settle
from fleet.frames import private_columns

if TYPE_CHECKING:
    from fleet.store import Appended, Judged

COUNTS = pl.Schema(
    {
        "file": pl.String(),
        "kind": pl.String(),
        "rows": pl.Int64(),
        "kept": pl.Int64(),
        "rejected": pl.Int64(),
        "already_known": pl.Int64(),
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Imported:
    """What became of the files: `import_id` is None when nothing was new; `counts` has one row
    per file and kind, rows = kept + rejected + already_known; `rejected` (REJECTED) the refused
    rows of this import; `notes` sentences.
    """

    import_id: str | None
    counts: pl.DataFrame
    rejected: pl.DataFrame
    notes: tuple[str, ...]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Looked(Imported):
    """What would become of the files: as `Imported`, and `kept`, the new rows by kind
    (clean_schema, without private columns) as they would be stored.
    """

    kept: Mapping[str, pl.DataFrame]


def import_files(
    store: Path,
    paths: Sequence[Path],
    *,
    kind: str | None = None,
    today: date,
    by: str | None,
    aliases: Mapping[str, str] | None = None,
    how: HowToRead | None = None,
    progress: Callable[[str], None] | None = None,
) -> Imported:
    """Record files, folders of them, or open repair data into the store, in one transaction.

    `how`: columns and kinds of tables whose headers are not ours, and who collected rows that do
    not say. Raises BadInput for a file that cannot be read as a table of ours (then nothing is
    kept) and StoreProblem for the store; a row that cannot be is refused by itself.
    """
    from fleet.store import append

    say = progress or _say_nothing
    gathered, settled, rejected = _settled(
        store, paths, kind=kind, today=today, by=by, aliases=aliases, how=how, say=say
    )
    say("writing to the store")
    what = ", ".join(path.name for path in paths)
    tables, rejected, images = _with_pictures(store, settled.tables, rejected, paths)
    done = append(store, tables, rejected, what=what, today=today, by=by, images=images)
    return Imported(
        import_id=done.import_id,
        counts=_counts(done, gathered),
        rejected=done.rejected,
        notes=tuple(
            dict.fromkeys(
                (*gathered.notes, *settled.notes, *_private_left(store, tables, done.kept))
            )
        ),
    )


def look_at_files(
    store: Path,
    paths: Sequence[Path],
    *,
    kind: str | None = None,
    today: date,
    by: str | None,
    aliases: Mapping[str, str] | None = None,
    how: HowToRead | None = None,
    progress: Callable[[str], None] | None = None,
) -> Looked:
    """What `import_files` would do with the same arguments, found the same way; nothing is
    written. Raises what it does.
    """
    from fleet.store import look

    say = progress or _say_nothing
    gathered, settled, rejected = _settled(
        store, paths, kind=kind, today=today, by=by, aliases=aliases, how=how, say=say
    )
    say("comparing with the store")
    tables, rejected, _ = _with_pictures(store, settled.tables, rejected, paths)
    judged = look(store, tables, rejected)
    return Looked(
        import_id=None,
        counts=_counts(judged, gathered),
        rejected=judged.rejected,
        notes=tuple(
            dict.fromkeys(
                (*gathered.notes, *settled.notes, *_private_left(store, tables, judged.given))
            )
        ),
        kept={
            name: frame.drop(private_columns(name))
            for name, frame in judged.kept.items()
            if frame.height
        },
    )


def _settled(
    store: Path,
    paths: Sequence[Path],
    *,
    kind: str | None,
    today: date,
    by: str | None,
    aliases: Mapping[str, str] | None,
    how: HowToRead | None,
    say: Callable[[str], None],
) -> tuple[Gathered, Prepared, pl.DataFrame]:
    """Everything on the way to the store but the store's own verdict."""
    known = known_names(store)
    gathered = Gathered()
    for path in paths:
        say(f"reading {path.name}")
        gather(path, gathered, known, kind=kind, today=today, how=how or HowToRead())
    say("matching names")
    tables = {name: pl.concat(frames) for name, frames in gathered.tables.items()}
    settled = settle(tables, known, by=by, aliases=aliases)
    return gathered, settled, pl.concat([*gathered.rejected, settled.rejected])


def _with_pictures(
    store: Path, tables: Mapping[str, pl.DataFrame], rejected: pl.DataFrame, paths: Sequence[Path]
) -> tuple[dict[str, pl.DataFrame], pl.DataFrame, dict[str, Path]]:
    """Tables without the photos whose picture or report is missing, those refused, and the files
    of the others' pictures.
    """
    out = dict(tables)
    if "photos" not in out:
        return out, rejected, {}
    from fleet.records import refused_rows
    from fleet.store import history

    photos = out["photos"]
    reports = pl.concat(
        [
            history(store, "reports")["record"],
            *(f["record"] for k, f in out.items() if k == "reports"),
        ]
    )
    reason, images = pictures_beside(photos, paths)
    lost = pl.when(~pl.col("report").is_in(reports.implode())).then(
        pl.format("there is no report {}; import it with its photo", "report")
    )
    reason = photos.select(pl.coalesce(lost, reason).alias("reason"))["reason"]
    out["photos"] = photos.filter(reason.is_null())
    refused = refused_rows(photos, "photos", reason)
    return out, pl.concat([rejected, refused]), images


def _private_left(
    store: Path, tables: Mapping[str, pl.DataFrame], kept: pl.DataFrame
) -> tuple[str, ...]:
    """A sentence where private notes came for machines that are on record without them, or with
    others: such a row is known already, and nothing of it is written.
    """
    units = tables.get("units")
    if units is None or units["private_notes"].null_count() == units.height:
        return ()
    from fleet.store import known_private

    new = kept.filter(kind="units")["given"].implode()
    held = known_private(store, "units").select("unit", held="private_notes")
    differ = units.drop_nulls("private_notes").filter(~pl.col("record").is_in(new))
    differ = differ.join(held, on="unit")
    count = differ.filter(pl.col("held").ne_missing(pl.col("private_notes")))["unit"].n_unique()
    if not count:
        return ()
    what = "1 machine is" if count == 1 else f"{count:,} machines are"
    whose = "its" if count == 1 else "their"
    return (
        f"{what} on record already with other private notes, or none; {whose} notes were left as "
        "they are: write them on the page of the machine, or with fleet amend",
    )


def _say_nothing(_: str) -> None:
    """Where nobody follows the progress."""


def undo_import(store: Path, import_id: str, *, today: date, by: str | None) -> int:
    """Take back every record of an import; how many. NotKnown or Conflict when it cannot be."""
    from fleet.store import withdraw

    return withdraw(store, import_id=import_id, today=today, by=by)


def look_at_undo(store: Path, import_id: str, *, today: date) -> pl.DataFrame:
    """What `undo_import` would take back: kind, records, corrections (how many of them correct an
    earlier record, which would count again). Raises what it would; nothing is written.
    """
    from fleet.store import look_at_withdrawal

    found = look_at_withdrawal(store, import_id=import_id, today=today)
    return found.group_by("kind", maintain_order=True).agg(
        pl.len().cast(pl.Int64).alias("records"),
        pl.col("corrects").count().cast(pl.Int64).alias("corrections"),
    )


def list_imports(store: Path) -> pl.DataFrame:
    """Every import: import_id, moment, today, by, what, rows, kept, already_known, rejected,
    taken_back.
    """
    from fleet.store import imports

    return imports(store)


def list_writes(store: Path) -> pl.DataFrame:
    """`list_imports`, the newest first, and `sort`: files, entered (one by one) or taken back."""
    what = pl.col("what")
    return (
        list_imports(store)
        .reverse()
        .with_columns(
            sort=pl.when(what.str.contains(r"^(undo of |records taken back)"))
            .then(pl.lit("taken back"))
            .when(what.str.contains(r"^(log|add|amend) [a-z_]+$"))
            .then(pl.lit("entered"))
            .otherwise(pl.lit("files"))
        )
    )


def list_rejects(store: Path, import_id: str | None) -> pl.DataFrame:
    """Rows refused by one import, or by all: REJECTED and import_id."""
    from fleet.store import rejects

    return rejects(store, import_id)


def _counts(done: "Appended | Judged", gathered: Gathered) -> pl.DataFrame:
    """Counts per file and kind; rows of open repair files as rows of the file, each one unit."""
    renamed = done.counts.rename({"rows_kept": "kept"}).select(COUNTS.names()).cast(COUNTS)
    ours = ~pl.col("file").is_in(gathered.open_repair)
    theirs = (
        renamed.filter(~ours & pl.col("kind").is_in(["units", OPEN_REPAIR]))
        .group_by("file", maintain_order=True)
        .agg(
            pl.lit(OPEN_REPAIR).alias("kind"),
            pl.col("rows", "kept", "rejected", "already_known").sum(),
        )
    )
    empty = pl.DataFrame(
        [(*pair, 0, 0, 0, 0) for pair in gathered.empty], schema=COUNTS, orient="row"
    )
    hidden = (pl.col("file") == "meta.json") & (pl.col("rejected") == 0)
    return pl.concat([renamed.filter(ours & ~hidden), theirs.select(COUNTS.names()), empty])
