"""Record files into text tables: one file, or a folder of them."""

from pathlib import Path

from fleet.errors import BadInput
from fleet.frames import KINDS
from fleet.records.headers import as_record_file, nearest
from fleet.records.raw import Grid, RawTable
from fleet.records.spreadsheets import read_parquet, read_sheet, sheet_names
from fleet.records.text_file import read_grid

_TEXT = {".csv", ".tsv", ".txt"}
SUFFIXES = _TEXT | {".xlsx", ".parquet"}


def read_tables(path: Path, *, kind: str | None = None) -> list[RawTable]:
    """Every table of a record file or of a folder of record files, nothing validated but the
    header.

    The kind of a table is `kind`, else the file's stem or the sheet's name. Raises BadInput for
    whatever cannot be read as a table of our columns; then nothing of that path is read.
    """
    if kind is not None and kind not in KINDS:
        raise BadInput(f"{kind!r} is no kind of record{nearest(kind, KINDS)}; {_kinds()}")
    if not path.exists():
        raise BadInput(f"{path} does not exist; look at the name")
    return _read_folder(path, kind) if path.is_dir() else _read_file(path, kind)


def _kinds() -> str:
    return f"the kinds are {', '.join(KINDS)}"


def _read_folder(folder: Path, kind: str | None) -> list[RawTable]:
    tables: list[RawTable] = []
    passed: list[str] = []
    order = list(KINDS)
    files = [file for file in folder.iterdir() if file.is_file() and not file.name.startswith(".")]
    for file in sorted(files, key=lambda f: (_place(f, order), f.name)):
        if file.suffix.lower() not in SUFFIXES:
            continue
        if file.suffix.lower() != ".xlsx" and kind is None and _stem(file) not in KINDS:
            passed.append(file.name)
            continue
        tables += _read_file(file, kind)
    if not tables:
        raise BadInput(
            f"{folder} holds no record files; name each CSV, XLSX or Parquet file for its kind, "
            f"{_kinds()}"
        )
    if passed:
        note = f"not read, their names are no kinds of record: {', '.join(passed)}"
        tables[0] = _noted(tables[0], note)
    return tables


def _place(file: Path, order: list[str]) -> int:
    return order.index(_stem(file)) if _stem(file) in order else len(order)


def _stem(file: Path) -> str:
    return file.stem.strip().lower()


def _read_file(file: Path, kind: str | None) -> list[RawTable]:
    suffix = file.suffix.lower()
    if suffix == ".xlsx":
        return _read_book(file, kind)
    if suffix not in SUFFIXES:
        raise BadInput(f"{file.name} is no CSV, XLSX or Parquet file; save it as one of them")
    wanted = kind or _stem(file)
    if wanted not in KINDS:
        raise BadInput(
            f"{file.name}: its name is no kind of record{nearest(wanted, KINDS)}; "
            f"rename it or say the kind, {_kinds()}"
        )
    return [as_record_file(_grid(file), wanted)]


def _grid(file: Path) -> Grid:
    return read_parquet(file) if file.suffix.lower() == ".parquet" else read_grid(file)


def _read_book(file: Path, kind: str | None) -> list[RawTable]:
    sheets = sheet_names(file)
    named = {sheet: sheet.strip().lower() for sheet in sheets if sheet.strip().lower() in KINDS}
    if kind is not None and not named and len(sheets) == 1:
        named = {sheets[0]: kind}
    if kind is not None:
        named = {sheet: name for sheet, name in named.items() if name == kind}
    if not named:
        raise BadInput(
            f"{file.name}: none of its sheets ({', '.join(sheets)}) is named for a kind of record; "
            f"rename them, {_kinds()}"
        )
    tables = [as_record_file(read_sheet(file, sheet), name) for sheet, name in named.items()]
    passed = [sheet for sheet in sheets if sheet not in named]
    if passed:
        note = f"{file.name}: these sheets were not read: {', '.join(passed)}"
        tables[0] = _noted(tables[0], note)
    return tables


def _noted(table: RawTable, note: str) -> RawTable:
    return RawTable(
        kind=table.kind,
        file=table.file,
        frame=table.frame,
        rejected=table.rejected,
        notes=(*table.notes, note),
    )
