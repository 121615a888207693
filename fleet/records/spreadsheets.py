"""XLSX sheets and Parquet files as text: typed dates and numbers are taken as they are."""

from pathlib import Path
from typing import Any

import polars as pl

from fleet.errors import BadInput
from fleet.records.numbers import number_text
from fleet.records.raw import RAGGED, Grid, row_text, without_blank_rows

_DAY_AND_TIME = r"^(\d{4}-\d{2}-\d{2})[ T]00:00:00(\.0+)?$"


def sheet_names(path: Path) -> list[str]:
    """Names of the sheets. Raises BadInput when the file is no XLSX or is protected."""
    return list(_open(path).sheet_names)


def _open(path: Path) -> Any:  # noqa: ANN401 - the reader's own class
    import fastexcel

    try:
        with path.open("rb") as file:
            begin = file.read(8)
    except OSError as error:
        raise BadInput(f"{path} cannot be read: {error.strerror}") from None
    if not begin:
        raise BadInput(f"{path.name} is empty; it should hold sheets named for kinds of record")
    if begin == bytes.fromhex("D0CF11E0A1B11AE1"):
        raise BadInput(
            f"{path.name} is protected by a password or is an old XLS file; "
            "save it as XLSX without a password and try again"
        )
    try:
        return fastexcel.read_excel(path)
    except fastexcel.FastExcelError:
        raise BadInput(
            f"{path.name} is damaged or is no XLSX file; save it again as XLSX or as CSV"
        ) from None


def _load(path: Path, book: Any, sheet: str, dtype: str) -> tuple[pl.DataFrame, list[int]]:  # noqa: ANN401
    """Cells of a sheet, and the rows (from 0) in which a cell holds a spreadsheet error."""
    import fastexcel

    try:
        loaded = book.load_sheet(sheet, header_row=None, skip_rows=0, dtypes=dtype)
        if loaded.width == 0:
            return pl.DataFrame(), []
        batch, errors = loaded.to_arrow_with_errors()
    except fastexcel.FastExcelError:
        raise BadInput(f"{path.name} sheet {sheet} is damaged; save it again as XLSX") from None
    frame = pl.DataFrame(pl.from_arrow(batch))
    faults = sorted({error.position[0] for error in errors.errors}) if errors else []
    return frame.rename({name: f"c{i}" for i, name in enumerate(frame.columns)}), faults


def read_sheet(path: Path, sheet: str) -> Grid:
    """Cells of one sheet; dates as ISO text, whole numbers without a point. Rows in which a
    formula ends in an error are refused.
    """
    file = f"{path.name} sheet {sheet}"
    book = _open(path)
    text, faults = _load(path, book, sheet, "string")
    if text.is_empty():
        raise BadInput(f"{file} is empty; it should begin with a line of column names")
    text = text.with_columns(pl.all().str.replace(_DAY_AND_TIME, "${1}"))
    text = _with_all_digits(text, _load(path, book, sheet, "float")[0])
    cells = text.columns
    text = text.with_columns(pl.int_range(1, pl.len() + 1, dtype=pl.Int64).alias("line"))
    faulty = pl.col("line").is_in([row + 1 for row in faults])
    header = without_blank_rows(text)
    body = header.slice(1)
    refused = body.filter(faulty).select(
        "line",
        row_text(cells).alias("row"),
        pl.lit("a formula in this row ends in an error; mend it or type the value").alias("reason"),
    )
    return Grid(
        file=file,
        header=tuple(cell or "" for cell in header.select(cells).row(0)),
        frame=body.filter(~faulty),
        ragged=refused.match_to_schema(RAGGED),
    )


def _with_all_digits(text: pl.DataFrame, numbers: pl.DataFrame) -> pl.DataFrame:
    """The reader's text of a number keeps nine decimals; put back the digits it dropped."""
    out = []
    for name in text.columns:
        shown = text[name].cast(pl.Float64, strict=False)
        real = numbers[name] if name in numbers.columns else shown
        short = (shown != real).fill_null(value=False)
        out.append(
            pl.select(
                pl.when(short).then(number_text(real)).otherwise(text[name]).alias(name)
            ).to_series()
            if short.any()
            else text[name]
        )
    return pl.DataFrame(out)


def read_parquet(path: Path) -> Grid:
    """Cells of a Parquet file, `line` the row's number. Raises BadInput when it is none."""
    try:
        if path.stat().st_size == 0:
            raise BadInput(f"{path.name} is empty; it should be a Parquet file")
        frame = pl.read_parquet(path)
    except OSError as error:
        raise BadInput(f"{path} cannot be read: {error.strerror or error}") from None
    except pl.exceptions.PolarsError:
        raise BadInput(
            f"{path.name} is damaged or is no Parquet file; write it again or save it as CSV"
        ) from None
    columns = [_as_text(frame[name], path.name) for name in frame.columns]
    out = pl.DataFrame([s.alias(f"c{i}") for i, s in enumerate(columns)])
    out = out.with_columns(pl.int_range(1, pl.len() + 1, dtype=pl.Int64).alias("line"))
    return Grid(
        file=path.name,
        header=tuple(frame.columns),
        frame=without_blank_rows(out),
        ragged=pl.DataFrame(schema=RAGGED),
    )


def _as_text(series: pl.Series, file: str) -> pl.Series:
    dtype = series.dtype
    if dtype.is_nested() or dtype in (pl.Binary, pl.Object):
        raise BadInput(
            f"{file}: column {series.name} holds lists or bytes; every cell should be one value"
        )
    if dtype.is_float():
        return number_text(series.cast(pl.Float64))
    if isinstance(dtype, pl.Decimal):
        return number_text(series.cast(pl.Float64))
    if dtype == pl.Boolean:
        return series.replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)
    if isinstance(dtype, pl.Datetime):
        return series.dt.to_string("%Y-%m-%d %H:%M:%S").str.replace(_DAY_AND_TIME, "${1}")
    return series.cast(pl.String)
