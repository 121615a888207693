"""What the readers hand on: text tables with line numbers, cleaned tables with their rejects."""

import json
from collections.abc import Sequence
from dataclasses import dataclass, field

import polars as pl

from fleet.frames import REJECTED, empty_frame


def _no_rejects() -> pl.DataFrame:
    return empty_frame(REJECTED)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class RawTable:
    """Rows of one record file, read as text and never sniffed.

    `frame` has String columns named as in the kind (those the file has), and `line` (Int64), the
    line a person sees in that file; `rejected` (REJECTED) has the rows with too many or too few
    cells; `notes` are sentences for the person who imports.
    """

    kind: str
    file: str
    frame: pl.DataFrame
    rejected: pl.DataFrame = field(default_factory=_no_rejects)
    notes: tuple[str, ...] = ()

    @property
    def rows(self) -> int:
        """Rows of the file: those to be cleaned and those refused already."""
        return self.frame.height + self.rejected.height


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Cleaned:
    """Validated rows (`kept`, clean_schema of the kind), refused rows (REJECTED) and notes."""

    kept: pl.DataFrame
    rejected: pl.DataFrame
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Grid:
    """A file's cells before its header is understood.

    `frame` has String columns c0, c1, ... under `header`, and `line`; `ragged` has line, row
    (the cells as JSON) and reason of the rows that have another number of cells.
    """

    file: str
    header: tuple[str, ...]
    frame: pl.DataFrame
    ragged: pl.DataFrame
    notes: tuple[str, ...] = ()


RAGGED = pl.Schema({"line": pl.Int64(), "row": pl.String(), "reason": pl.String()})


def reject_table(file: str, kind: str, rows: pl.DataFrame) -> pl.DataFrame:
    """REJECTED rows from a frame with line, row and reason."""
    return rows.select(
        pl.lit(file).alias("file"),
        pl.lit(kind).alias("kind"),
        pl.col("line").cast(pl.Int64),
        pl.col("reason").cast(pl.String),
        pl.col("row").cast(pl.String),
    )


def row_text(columns: Sequence[str]) -> pl.Expr:
    """The cells of a row as the text of a JSON object, blank cells left out."""
    cells = [
        pl.when(pl.col(name).is_not_null()).then(
            pl.struct(pl.col(name)).struct.json_encode().str.head(-1).str.slice(1)
        )
        for name in columns
    ]
    return "{" + pl.concat_str(cells, separator=", ", ignore_nulls=True) + "}"


def cells_text(cells: Sequence[str]) -> str:
    """The cells of a row that does not fit its header, as the text of a JSON list."""
    return json.dumps(list(cells), ensure_ascii=False)


def without_blank_rows(frame: pl.DataFrame) -> pl.DataFrame:
    """The rows that have a cell that is not blank; `line` does not count."""
    cells = [name for name in frame.columns if name != "line"]
    if not cells:
        return frame
    return frame.filter(pl.concat_str(cells, ignore_nulls=True).str.contains(r"\S"))
