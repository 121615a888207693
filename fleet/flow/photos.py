"""Photos of machines: kept with a report, shown with it, taken back with it."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import BadInput, NotKnown
from fleet.flow.pictures import Picture, read_picture
from fleet.flow.prepare import prepare

PHOTOS = pl.Schema(
    {
        "record": pl.String(),
        "report": pl.String(),
        "unit": pl.String(),
        "image": pl.String(),
        "width": pl.Int64(),
        "height": pl.Int64(),
        "file_name": pl.String(),
        "entered_on": pl.Date(),
        "by": pl.String(),
        "notes": pl.String(),
    }
)


def keep_photo(
    store: Path,
    report: str,
    data: bytes,
    name: str,
    today: date,
    by: str | None,
    *,
    notes: str = "",
) -> str:
    """Keep a photo with a report that is on record; the photo's record id (the old one where the
    report has that picture already).

    The photo belongs to the report as first told, so that taking a correction back leaves it.
    Raises BadInput for what is no picture, NotKnown for no such report.
    """
    return add_photo(store, report, read_picture(data, name), name, today=today, by=by, notes=notes)


def add_photo(
    store: Path,
    report: str,
    picture: Picture,
    name: str,
    *,
    today: date,
    by: str | None,
    notes: str = "",
) -> str:
    """`keep_photo` for a picture that has been read."""
    from fleet.frames import REJECTED, empty_frame
    from fleet.store import append

    first, unit = first_told(store, report)
    row = photo_row(picture, name, unit=unit, report=first, notes=notes)
    prepared = prepare(store, {"photos": [row]}, today=today, by=by)
    done = append(
        store,
        prepared.tables,
        empty_frame(REJECTED),
        what="add photos",
        today=today,
        by=by,
        images={picture.sha256: picture.data},
    )
    if not done.rejected.is_empty():
        raise BadInput(done.rejected["reason"][0])
    ids = done.kept if done.kept.height else prepared.tables["photos"]
    return str(ids["record"][0])


def photo_row(
    picture: Picture, name: str, *, unit: str, report: str, notes: str = ""
) -> dict[str, str]:
    """A photo as typed text, for `prepare`."""
    return {
        "report": report,
        "unit": unit,
        "image": picture.sha256,
        "width": str(picture.width),
        "height": str(picture.height),
        "file_name": " ".join(Path(name).name.split())[:120],
        "notes": notes,
    }


def first_told(store: Path, report: str) -> tuple[str, str]:
    """The first of the reports that a report corrects, one after the other, and its unit."""
    from fleet.store import find_record, unit_history

    kind, row = find_record(store, report)
    if kind != "reports":
        raise NotKnown(f"{report} is no report but one of the {kind}; a photo goes with a report")
    record = str(row["record"][0])
    if row["withdrawn_by"][0] is not None:
        raise NotKnown(f"report {record} was taken back; enter it again before photos of it")
    unit = str(row["unit"][0])
    told = unit_history(store, unit, ("reports",))["reports"]
    corrects = dict(told.select("record", "supersedes").drop_nulls().iter_rows())
    known = set(told["record"])
    seen: set[str] = set()
    while (earlier := corrects.get(record)) in known and record not in seen:
        seen.add(record)
        record = str(earlier)
    return record, unit


def photos_of(
    store: Path,
    *,
    unit: str | None = None,
    reports: Sequence[str] | None = None,
    standing: pl.DataFrame | None = None,
) -> pl.DataFrame:
    """Standing photos (PHOTOS) of one unit, or of some reports of whatever version, in the order in
    which they were added. `report` is the version of the report that counts now. `standing`: those
    of all units, known frame, where somebody has read them already.
    """
    from fleet.store import known

    frame = known(store, ("photos",), unit=unit)["photos"] if standing is None else standing
    if unit is not None:
        frame = frame.filter(unit=unit)
    now = _counting_now(store, frame)
    frame = frame.with_columns(
        report=pl.col("report").replace(now) if now else pl.col("report"), _told=pl.col("report")
    )
    if reports is not None:
        asked = list(reports)
        frame = frame.filter(pl.col("report").is_in(asked) | pl.col("_told").is_in(asked))
    order = pl.col("import_id").str.len_chars()
    return frame.sort("entered_on", order, "import_id", "record").select(PHOTOS.names())


def _counting_now(store: Path, photos: pl.DataFrame) -> dict[str, str]:
    """The report that counts now for each report that photos name and a correction replaced."""
    from fleet.store import unit_history

    now: dict[str, str] = {}
    for unit in photos["unit"].unique().to_list():
        told = unit_history(store, unit, ("reports",))["reports"]
        by = dict(told.select("record", "superseded_by").drop_nulls().iter_rows())
        for first in photos.filter(pl.col("unit") == unit)["report"].unique():
            last, seen = first, {first}
            while (later := by.get(last)) is not None and later not in seen:
                last = later
                seen.add(later)
            now[first] = last
    return now


def image(store: Path, sha256: str) -> bytes:
    """The JPEG of a photo. NotKnown where the store holds no such picture."""
    from fleet.store import image as held

    return held(store, sha256)
