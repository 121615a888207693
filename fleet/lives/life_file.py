"""Read a life table from a file."""

from dataclasses import dataclass
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.frames import LIFE

_REQUIRED = ("low", "high")
_NO_GROUPS = (pl.Binary, pl.Duration, pl.Object)
_DEFAULTS: dict[str, float | None] = {"entry": 0.0, "known_by": None, "count": 1.0}


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class LifeFile:
    """A life table from a file: `lives` keeps LIFE, further columns are groups as String.

    `notes` says what was taken for granted, and which rows tell nothing.
    """

    lives: pl.DataFrame
    notes: tuple[str, ...]


def read_life_file(path: Path) -> LifeFile:
    """Read a life table from CSV or Parquet; ages keep the unit they have in the file.

    Columns `low` and `high`, and where given `entry` (0), `known_by` (null) and `count` (1); all
    other columns are groups, read as text (`1` stays `1`).

    Raises
    ------
    BadInput
        If the file cannot be read, lacks a column, holds something that is no number, or a row
        that is no life: the row and, in a CSV, its line are named.
    """
    suffix = path.suffix.lower()
    if path.is_dir():
        raise BadInput(f"{path} is a folder; give the name of a CSV or Parquet file")
    if not path.is_file():
        raise BadInput(f"there is no file {path}; give the name of a CSV or Parquet file")
    if suffix in (".parquet", ".pq"):
        raw, lines = _read_parquet(path), None
    elif suffix in (".csv", ".txt", ".tsv"):
        raw, lines = _read_csv(path)
    else:
        raise BadInput(f"{path.name} is neither CSV nor Parquet; save it as one of them")
    raw = _named(raw, path.name)
    missing = [c for c in _REQUIRED if c not in raw.columns]
    if missing:
        raise BadInput(
            f"{path.name} has no column {missing[0]}; a life table needs low and high "
            f"(it has {', '.join(raw.columns)})"
        )
    notes = [
        f"{path.name} has no column {c}: taken as {'none' if value is None else f'{value:.0f}'}"
        for c, value in _DEFAULTS.items()
        if c not in raw.columns
    ]
    numbers = _numbers(raw, path.name, lines)
    groups = [c for c in raw.columns if c not in LIFE]
    odd = [c for c in groups if raw.schema[c].is_nested() or raw.schema[c] in _NO_GROUPS]
    if odd:
        groups = [c for c in groups if c not in odd]
        notes.append(f"left out, as they cannot make groups: {', '.join(odd)}")
    lives = pl.concat([numbers, raw.select(pl.col(groups).cast(pl.String))], how="horizontal")
    _refuse(lives, path.name, lines)
    idle = lives.filter(pl.col("high").is_null() & (pl.col("low") == pl.col("entry"))).height
    if idle:
        rows = "1 row ends" if idle == 1 else f"{idle:,} rows end"
        notes.append(f"{rows} where it begins, still good: kept, tells nothing")
    return LifeFile(lives=lives, notes=tuple(notes))


def _named(raw: pl.DataFrame, name: str) -> pl.DataFrame:
    """Columns without blanks at their ends; `Known by` and the like are known_by."""
    columns = {c: c.strip() for c in raw.columns}
    for given, column in columns.items():
        plain = "_".join(column.lower().split())
        if plain in LIFE and column not in LIFE:
            if plain in columns.values():
                raise BadInput(f"{name} has both {column} and {plain}; rename or drop one of them")
            columns[given] = plain
    if len(set(columns.values())) < len(columns):
        raise BadInput(f"{name} has two columns of one name; rename one of them")
    return raw.rename(columns)


def _read_parquet(path: Path) -> pl.DataFrame:
    try:
        return pl.read_parquet(path)
    except (pl.exceptions.PolarsError, OSError) as error:
        raise BadInput(f"{path.name} cannot be read as Parquet ({error}); save it again") from error


def _read_csv(path: Path) -> tuple[pl.DataFrame, int]:
    """All columns as text, and the line of the first row."""
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        text = path.read_text(encoding="cp1252", errors="replace")
    if not text.strip():
        raise BadInput(f"{path.name} is empty; a life table needs the columns low and high")
    head = text.lstrip("\r\n").splitlines()[0]
    separator = max(",;\t", key=head.count)
    try:
        raw = pl.read_csv(text.encode(), infer_schema=False, separator=separator)
    except pl.exceptions.PolarsError as error:
        raise BadInput(
            f"{path.name} cannot be read as CSV; see that every quotation mark is closed and that "
            "no line has more fields than the first"
        ) from error
    return raw, 2


def _where(row: int, first_line: int | None) -> str:
    return f"row {row + 1}" + ("" if first_line is None else f" (line {row + first_line})")


def _numbers(raw: pl.DataFrame, name: str, lines: int | None) -> pl.DataFrame:
    given = {}
    for column, default in ((c, _DEFAULTS.get(c)) for c in LIFE):
        if column not in raw.columns:
            given[column] = pl.repeat(default, raw.height, dtype=pl.Float64, eager=True)
            continue
        texts = raw[column]
        if not (texts.dtype.is_numeric() or texts.dtype in (pl.String, pl.Null)):
            raise BadInput(
                f"{name}: {column} holds values of type {texts.dtype}, not numbers; give ages"
            )
        if texts.dtype == pl.String:
            texts = texts.str.strip_chars().replace("", None)
        values = texts.cast(pl.Float64, strict=False)
        bad = (texts.is_not_null() & (values.is_null() | ~values.is_finite())).arg_true()
        if len(bad):
            raise BadInput(
                f"{name}, {_where(bad[0], lines)}: {column} is {texts[bad[0]]!s}, which is no "
                "finite number; leave unknown ages empty"
            )
        given[column] = values if default is None else values.fill_null(default)
    return pl.DataFrame(given, schema=LIFE)


def _refuse(lives: pl.DataFrame, name: str, lines: int | None) -> None:
    """Raise BadInput for the first row that is no life."""
    low, high, entry, by = (pl.col(c) for c in ("low", "high", "entry", "known_by"))
    faults = (
        (low.is_null(), "low is empty; it is the age when last seen good"),
        (entry < 0, "entry is below 0; ages count from new"),
        (high < low, "high is below low; the failure lies between low and high"),
        (
            low < entry,
            "low is below entry; nothing is known of a life before its entry",
        ),
        (
            (low == high) & (low == entry),
            "entry, low and high are the same; a life must last a moment to count",
        ),
        (by.is_not_null() & high.is_null(), "known_by stands without high; only failures have it"),
        (by < high, "known_by is below high; the failure was known by then"),
        (pl.col("count") <= 0, "count is not above 0"),
        (~pl.col("count").is_between(1e-9, 1e12), "count is below 1e-9 or above 1e12"),
    )
    checks = lives.select(
        wrong.fill_null(False).alias(str(i)) for i, (wrong, _) in enumerate(faults)
    )
    rows = checks.select(pl.any_horizontal(pl.all())).to_series().arg_true()
    if not len(rows):
        return
    row = rows[0]
    text = next(text for i, (_, text) in enumerate(faults) if checks[str(i)][row])
    raise BadInput(f"{name}, {_where(row, lines)}: {text}")
