"""Export: known rows back into record files that read as the same rows."""

import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.frames import KINDS, private_columns
from fleet.records.dates import parse_edtf
from fleet.records.headers import column_names
from fleet.records.numbers import number_text

FORMS = ("csv", "xlsx", "parquet")
_BOOK = "records.xlsx"
_SHEET_ROWS = 1_048_575


def as_text(frame: pl.DataFrame, kind: str) -> pl.DataFrame:
    """Rows of a clean or known frame as the text of a record file, columns in its order.

    entered_on is blank where it was reconstructed and will be again. Where the own date's text
    reaches beyond entered_on (`2026`, entered in May 2026) it is written all the same, as only it
    says how far the date could reach. Private columns are left out.
    """
    out = []
    for name in column_names(kind):
        if name in private_columns(kind):
            continue
        values = frame[name]
        if name == "entered_on":
            values = values.set(frame["reconstructed"] & ~_needed(frame, kind), None)
        if values.dtype == pl.Float64:
            values = number_text(values)
        elif values.dtype == pl.Boolean:
            values = values.replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)
        out.append(values.cast(pl.String).alias(name))
    return pl.DataFrame(out)


def _needed(frame: pl.DataFrame, kind: str) -> pl.Series:
    own = KINDS[kind].own_date
    if own is None:
        return pl.repeat(value=False, n=frame.height, dtype=pl.Boolean, eager=True)
    natural = parse_edtf(frame[own])["latest"]
    cut = frame[f"{own}_latest"]
    open_end = natural.is_null() & frame[own].is_not_null()
    return (open_end | (natural > cut)).fill_null(value=False)


def write_tables(
    folder: Path, tables: Mapping[str, pl.DataFrame], *, form: str = "csv"
) -> pl.DataFrame:
    """Write frames (known_schema or clean_schema by kind) as record files into `folder`.

    csv: one UTF-8 file a kind; xlsx: one book, a sheet a kind, every cell text so that no digit
    is lost; parquet: one file a kind, every column text. Cells are written as they are: a text
    that begins with = + - @ may be taken for a formula by a spreadsheet that opens the CSV (the
    XLSX is safe). Kinds without rows are left out. Everything is written beside the folder first
    and moved when whole. Returns file and rows.

    Raises BadInput for an unknown form, a folder that holds such files already, more rows than a
    sheet takes, or a place that cannot be written.
    """
    if form not in FORMS:
        raise BadInput(f"{form!r} is no form of export; choose of {', '.join(FORMS)}")
    texts = {kind: as_text(f, kind) for kind, f in tables.items() if kind in KINDS and f.height}
    names = [_BOOK] if form == "xlsx" else [f"{kind}.{form}" for kind in texts]
    there = [name for name in names if (folder / name).exists()]
    if there:
        raise BadInput(f"{folder} already holds {', '.join(there)}; name an empty or new folder")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=folder, prefix=".writing-") as place:
            made = _write(Path(place), texts, form)
            for name in made:
                shutil.move(Path(place) / name, folder / name)
    except OSError as error:
        raise BadInput(f"{folder} cannot be written: {error.strerror or error}") from None
    rows = [(_BOOK if form == "xlsx" else f"{kind}.{form}", t.height) for kind, t in texts.items()]
    return pl.DataFrame(rows, schema={"file": pl.String, "rows": pl.Int64}, orient="row")


def _write(place: Path, texts: Mapping[str, pl.DataFrame], form: str) -> list[str]:
    if form == "xlsx":
        _write_book(place / _BOOK, texts)
        return [_BOOK] if texts else []
    for kind, text in texts.items():
        target = place / f"{kind}.{form}"
        if form == "csv":
            text.write_csv(target)
        else:
            text.write_parquet(target)
    return [f"{kind}.{form}" for kind in texts]


def _write_book(path: Path, texts: Mapping[str, pl.DataFrame]) -> None:
    import xlsxwriter

    long = [kind for kind, text in texts.items() if text.height > _SHEET_ROWS]
    if long:
        raise BadInput(
            f"{long[0]} has more rows than a sheet takes ({_SHEET_ROWS:,}); export csv or parquet"
        )
    if not texts:
        return
    with xlsxwriter.Workbook(path, {"constant_memory": True}) as book:
        for kind, text in texts.items():
            sheet = book.add_worksheet(kind)
            for column, name in enumerate(text.columns):
                sheet.write_string(0, column, name)
            for row, cells in enumerate(text.iter_rows(), start=1):
                for column, cell in enumerate(cells):
                    if cell is not None:
                        sheet.write_string(row, column, cell)
