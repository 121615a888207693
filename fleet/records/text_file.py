"""CSV and its relatives: encoding, separator, quoted line breaks, rows that do not fit."""

import csv
import io
import re
from collections.abc import Iterator
from itertools import accumulate, islice
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.frames import COMMON, KINDS
from fleet.records.headers import plain_name
from fleet.records.raw import RAGGED, Grid, cells_text, without_blank_rows

_CHUNK = 20_000
_HEADER_LIMIT = 100_000
_BREAK = re.compile("\r\n|\r|\n")
_SEPARATORS = {",": "comma", ";": "semicolon", "\t": "tab"}
_OURS = {c.name for kind in KINDS.values() for c in kind.columns} | {c.name for c in COMMON}


def decode(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    """Text of a file: UTF-16 by its mark, else UTF-8 with or without a mark, else Windows-1252
    with a note. Raises BadInput when it is empty or no text.
    """
    if not data.strip():
        raise BadInput(f"{file} is empty; it should begin with a line of column names")
    try:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            text = data.decode("utf-16")
        elif b"\x00" in data:
            raise _no_text(file)
        else:
            text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return _windows(data, file)
    if "\x00" in text:
        raise _no_text(file)
    if not text.strip():
        raise BadInput(f"{file} is empty; it should begin with a line of column names")
    return text, ()


def _no_text(file: str) -> BadInput:
    return BadInput(f"{file} is not a text table; save it as CSV in UTF-8 and try again")


def _windows(data: bytes, file: str) -> tuple[str, tuple[str, ...]]:
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        raise _no_text(file) from None
    if "\x00" in text:
        raise _no_text(file)
    return text, (f"{file} is not UTF-8; read as Windows-1252, look at its accented letters",)


def first_row(text: str) -> tuple[str, list[str]]:
    """Separator and cells of the first line: the separator under which most column names are
    ours, then the one with most cells.
    """
    text = text.lstrip("\r\n")[:_HEADER_LIMIT]
    best: tuple[tuple[int, int], str, list[str]] = ((-1, -1), ",", [])
    for separator in _SEPARATORS:
        try:
            row = next(
                r for r in csv.reader(io.StringIO(text, newline=""), delimiter=separator) if r
            )
        except (StopIteration, csv.Error):
            continue
        score = (sum(plain_name(cell) in _OURS for cell in row), len(row))
        if score > best[0]:
            best = (score, separator, row)
    return best[1], best[2]


def _chunks(text: str, separator: str, file: str) -> Iterator[tuple[list[list[str]], list[int]]]:
    """Rows with the line each begins on, a chunk at a time."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    begins = 1
    while True:
        rows: list[list[str]] = []
        try:
            rows.extend(islice(reader, _CHUNK))
        except csv.Error as error:
            line = begins + sum(_height(row) for row in rows)
            raise BadInput(f"{file} line {line}: {_plainly(str(error))}") from None
        if not rows:
            return
        after = reader.line_num + 1
        if after - begins == len(rows):
            lines = list(range(begins, after))
        else:
            lines = list(accumulate(map(_height, rows[:-1]), initial=begins))
        yield rows, lines
        begins = after


def _height(row: list[str]) -> int:
    """Lines of the file that a row takes: more than one where a quoted cell has line breaks."""
    return 1 + sum(len(_BREAK.findall(cell)) for cell in row if "\n" in cell or "\r" in cell)


def _plainly(error: str) -> str:
    if "unexpected end" in error:
        return "a quotation mark is opened here and never closed; nothing of this file was read"
    if "field larger" in error:
        return (
            "a cell that begins here is longer than 131,072 characters; nothing of this file was "
            "read, look for a quotation mark that is never closed"
        )
    return (
        "a quotation mark stands in the middle of a quoted cell; nothing of this file was read, "
        "write it twice"
    )


def read_grid(path: Path) -> Grid:
    """Cells of a text table.

    Raises BadInput when it is missing, empty, no text, or quoted wrongly.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise BadInput(f"{path} cannot be read: {error.strerror}") from None
    text, notes = decode(data, path.name)
    separator, header = first_row(text)
    read = _quoted if '"' in text else _unquoted
    frame, ragged = read(text, separator, len(header), path.name)
    return Grid(file=path.name, header=tuple(header), frame=frame, ragged=ragged, notes=notes)


def _unquoted(
    text: str, separator: str, width: int, file: str
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Cells and ragged rows of a text without quotation marks, where a line is a row."""
    lines = pl.Series("row", _BREAK.sub("\n", text).split("\n") if "\r" in text else
                      text.split("\n"))  # fmt: skip
    rows = (
        pl.DataFrame({"row": lines, "line": pl.int_range(1, len(lines) + 1, eager=True)})
        .filter(pl.col("row") != "")
        .slice(1)
        .filter(pl.col("row").str.contains(rf"[^\s{separator}]"))
    )
    cells = rows["row"].str.count_matches(separator, literal=True) + 1
    fits = cells == width
    ragged = pl.DataFrame(
        [
            (line, cells_text(row.split(separator)), _misfit(count, width, separator))
            for row, line, count in zip(
                *(column.filter(~fits).to_list() for column in (rows["row"], rows["line"], cells)),
                strict=True,
            )
        ],
        schema=RAGGED,
        orient="row",
    )
    good = rows.filter(fits)
    split = good["row"].str.split_exact(separator, width - 1).struct.unnest()
    split.columns = [f"c{i}" for i in range(width)]
    return split.with_columns(good["line"]), ragged


def _quoted(text: str, separator: str, width: int, file: str) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Cells and ragged rows of a text with quotation marks, row by row."""
    names = [f"c{i}" for i in range(width)]
    schema = pl.Schema({**dict.fromkeys(names, pl.String()), "line": pl.Int64()})
    frames = [pl.DataFrame(schema=schema)]
    ragged: list[tuple[int, str, str]] = []
    started = False
    for rows, lines in _chunks(text, separator, file):
        if not started:
            # The header is the first row that is not blank.
            skip = next(i for i, row in enumerate(rows) if row) + 1
            rows, lines, started = rows[skip:], lines[skip:], True
        if set(map(len, rows)) != {width}:
            ragged += _ragged(rows, lines, separator, width)
            good = [i for i, row in enumerate(rows) if len(row) == width]
            rows, lines = [rows[i] for i in good], [lines[i] for i in good]
        if rows:
            cells = dict(zip(names, map(list, zip(*rows, strict=True)), strict=True))
            frames.append(pl.DataFrame({**cells, "line": lines}, schema=schema))
    return (
        without_blank_rows(pl.concat(frames)),
        pl.DataFrame(ragged, schema=RAGGED, orient="row"),
    )


def _ragged(
    rows: list[list[str]], lines: list[int], separator: str, width: int
) -> list[tuple[int, str, str]]:
    return [
        (line, cells_text(row), _misfit(len(row), width, separator))
        for row, line in zip(rows, lines, strict=True)
        if len(row) != width and any(map(str.strip, row))
    ]


def _misfit(cells: int, width: int, separator: str) -> str:
    name = _SEPARATORS[separator]
    return (
        f"the line has {cells} cells and the header {width}; "
        f"put a cell that holds a {name} in quotation marks"
    )
