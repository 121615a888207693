"""Cells of one column: text to values, and for every cell refused the reason.

Each reader gives the values (null where blank or refused) and a String series of reasons, null
where the cell is good. Nothing is guessed: what could be read in two ways is refused with a hint.
"""

from collections.abc import Callable
from difflib import get_close_matches

import polars as pl

from fleet.frames import Column

_NAMES = {
    "unit", "model", "position", "source", "by", "serial", "record", "supersedes", "part",
    "withdraws",
}  # fmt: skip
_FREE = {"notes", "symptom"}
_NAME_LIMIT, _TEXT_LIMIT, _FREE_LIMIT = 200, 2_000, 20_000
_CONTROL = r"[\x00-\x1f\x7f]"
_CONTROL_IN_FREE = r"[\x00-\x08\x0b-\x1f\x7f]"
# With these a name reads as another (Unicode Standard Annex 9, explicit directional formatting).
_TURNS = r"[\x{202a}-\x{202e}\x{2066}-\x{2069}]"
_HINTS = 1_000

_NUMBER = r"^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$"
_YES = {"yes": True, "y": True, "true": True, "1": True}
_NO = {"no": False, "n": False, "false": False, "0": False}
_UNKNOWN = ("unknown", "u", "?")

Read = tuple[pl.Series, pl.Series]


def canonical(text: pl.Series) -> pl.Series:
    """Text without blanks at its ends, line ends and accents in one form; blank is null."""
    if text.null_count() == len(text):
        return text
    plain = text.str.strip_chars()
    if plain.str.contains("\r", literal=True).any():
        plain = plain.str.replace_all("\r\n?", "\n")
    if plain.str.len_bytes().sum() != plain.str.len_chars().sum():
        plain = plain.str.normalize("NFC")
    return plain.set(plain == "", None)


def shown(text: pl.Expr) -> pl.Expr:
    """The cell for a sentence: quoted, at most 40 characters."""
    short = pl.when(text.str.len_chars() > 40).then(text.str.head(40) + "...").otherwise(text)
    return pl.format("'{}'", short.str.replace_all("\n", " "))


def name_limit(kind: str, column: str) -> int:
    """Most characters a text cell of this column may hold."""
    if column in _FREE:
        return _FREE_LIMIT
    # The batches of a unit's factory set are a list over positions.
    is_name = column in _NAMES or (column == "batch" and kind != "units")
    return _NAME_LIMIT if is_name else _TEXT_LIMIT


def read_text(column: Column, text: pl.Series, *, kind: str) -> Read:
    """Text as it is; refused where too long, or with control characters or line breaks."""
    limit = name_limit(kind, column.name)
    free = column.name in _FREE
    bad = _CONTROL_IN_FREE if free else _CONTROL
    what = "a control character" if free else "a line break or control character"
    cell = pl.col("text")
    reason = (
        pl.when(cell.str.len_chars() > limit)
        .then(
            pl.format(
                f"{column.name} has {{}} characters, more than {limit:,}; shorten it",
                cell.str.len_chars(),
            )
        )
        .when(cell.str.contains(bad))
        .then(pl.lit(f"{column.name} holds {what}; take it out"))
        .when(pl.lit(not free) & cell.str.contains(_TURNS))
        .then(
            pl.lit(
                f"{column.name} holds an unseen sign that turns the direction of writing; "
                "type it anew"
            )
        )
    )
    return text, text.to_frame("text").select(reason.alias("reason"))["reason"].cast(pl.String)


def read_number(column: Column, text: pl.Series, *, kind: str) -> Read:
    """Float64 (number) or Int64 (whole) of plain decimal text with a point."""
    whole = column.form == "whole"
    cell = pl.col("text")
    value = cell.cast(pl.Float64, strict=False)
    plain = cell.str.contains(_NUMBER)
    alone = f", in {column.unit}" if column.unit else ""
    kind_of = "a whole number" if whole else "a number"
    reason = (
        pl.when(cell.is_null()).then(None)
        .when(cell.str.contains(r"\d,\d"))
        .then(pl.format(
            f"{column.name} {{}} has a comma; write a point before decimals and nothing "
            "between thousands", shown(cell)))
        .when(~plain)
        .then(pl.format(
            f"{column.name} {{}} is not {kind_of}; write the number alone{alone}", shown(cell)))
        .when(~value.is_finite())
        .then(pl.format(f"{column.name} {{}} is too large; correct it", shown(cell)))
    )  # fmt: skip
    if whole:
        reason = reason.when((value != value.round()) | (value.abs() > 2**53)).then(
            pl.format(f"{column.name} {{}} is not a whole number; correct it", shown(cell))
        )
    if not column.may_be_negative:
        reason = reason.when(value < 0).then(
            pl.format(f"{column.name} {{}} is negative; correct it", shown(cell))
        )
    frame = text.to_frame("text").select(
        # Adding nought makes -0 plain 0, so that both are the same content.
        pl.when(plain).then(value + 0.0).alias("value"),
        reason.cast(pl.String).alias("reason"),
    )
    good = frame["value"].set(frame["reason"].is_not_null(), None)
    return (good.cast(pl.Int64) if whole else good), frame["reason"]


def _translate(text: pl.Series, explain: Callable[[list[str]], dict[str, str]]) -> pl.Series:
    """Reasons for the cells of `text` (null: nothing to say), worked out once per cell."""
    unique = text.drop_nulls().unique().to_list()
    if not unique:
        return pl.Series("reason", [None] * len(text), dtype=pl.String)
    return text.replace_strict(explain(unique), default=None, return_dtype=pl.String)


def read_choice(column: Column, text: pl.Series, *, kind: str) -> Read:
    """One of the column's choices, whatever its case."""
    low = text.str.to_lowercase()
    value = low.replace_strict({c.lower(): c for c in column.choices}, default=None,
                               return_dtype=pl.String)  # fmt: skip
    choices = ", ".join(column.choices)

    def explain(bad: list[str]) -> dict[str, str]:
        out = {}
        for place, cell in enumerate(sorted(bad)):
            close = get_close_matches(cell[:40].lower(), column.choices, n=1) if (
                place < _HINTS
            ) else []  # fmt: skip
            hint = f"did you mean {close[0]}? " if close else ""
            out[cell] = f"{column.name} {_short(cell)} is not a choice; {hint}choose of {choices}"
        return out

    return value, _translate(text.set(value.is_not_null(), None), explain)


def read_yes_no(column: Column, text: pl.Series, *, kind: str) -> Read:
    """Boolean of yes, no, y, n, true, false, 1, 0; `unknown` is null."""
    low = text.str.to_lowercase()
    value = low.replace_strict(_YES | _NO, default=None, return_dtype=pl.Boolean)
    good = value.is_not_null() | low.is_in(_UNKNOWN)

    def explain(bad: list[str]) -> dict[str, str]:
        return {c: f"{column.name} {_short(c)} is not yes, no or unknown; correct it" for c in bad}

    return value, _translate(text.set(good, None), explain)


def _short(cell: str) -> str:
    return repr(cell if len(cell) <= 40 else f"{cell[:40]}...")


READERS: dict[str, Callable[..., Read]] = {
    "text": read_text,
    "number": read_number,
    "whole": read_number,
    "choice": read_choice,
    "yes_no": read_yes_no,
}
