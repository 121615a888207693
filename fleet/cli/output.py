"""One table out: JSON, CSV or a plain table on the screen; results to stdout."""

import os
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import typer

from fleet.cli.options import Form

if TYPE_CHECKING:
    import polars as pl

_ROWS_AT_ONCE = 50_000


def print_table(
    frame: "pl.DataFrame",
    form: Form,
    *,
    by: Sequence[str] | None = None,
    screen: "pl.DataFrame | None" = None,
    empty: str = "Nothing to list.",
) -> None:
    """Print `frame` in the form asked for.

    `by`: columns that JSON puts into the object `group` (None: the table has no groups); CSV
    leaves them as columns. `screen`: what the screen shows instead, already in words. `empty` is
    said on stderr where the screen has nothing to show. NaN and infinity are printed as unknown.
    """
    from fleet.cli.table import lay_out
    from fleet.cli.words import say

    if form.json:
        write_out(_json(_finite(frame), by))
    elif form.csv:
        write_out(_csv(_finite(frame)))
    elif frame.is_empty():
        say(empty)
    else:
        lines, notes = lay_out(screen if screen is not None else frame, width=_width())
        write_out(lines, as_terminal=True)
        for note in notes:
            say(note)


def write_out(pieces: Iterator[str], *, as_terminal: bool = False) -> None:
    """Write text to stdout piece by piece; a reader that has gone ends the command quietly.

    JSON and CSV are UTF-8 whatever the terminal; the screen gets what it can show.
    """
    encoding = sys.stdout.encoding if as_terminal else "utf-8"
    try:
        sys.stdout.flush()
        for piece in pieces:
            sys.stdout.buffer.write(piece.encode(encoding or "utf-8", "replace"))
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        # What is left in the buffer would be tried again at exit: point it nowhere.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise typer.Exit(0) from None


def _width() -> int | None:
    """Columns of the terminal; None where the output goes to a file or another program."""
    if not sys.stdout.isatty():
        return None
    return typer.get_terminal_size().columns


def _finite(frame: "pl.DataFrame") -> "pl.DataFrame":
    import polars as pl
    import polars.selectors as cs

    floats = cs.float()
    return frame.with_columns(pl.when(floats.is_finite()).then(floats))


def _json(frame: "pl.DataFrame", by: Sequence[str] | None) -> Iterator[str]:
    import polars as pl

    before = "\n{"
    if by:
        group = pl.struct([pl.col(name).cast(pl.String) for name in by]).alias("group")
        frame = frame.select(group, pl.exclude(*by))
    elif by is not None:
        before = '\n{"group":{},'  # a struct without fields is beyond the JSON writer
    yield "["
    for start, part in enumerate(frame.iter_slices(_ROWS_AT_ONCE)):
        # Line ends inside texts are escaped, so each one left is the end of a row.
        rows = "\n" + part.write_ndjson().rstrip("\n")
        yield ("," if start else "") + rows.replace("\n{", f",{before}")[1:]
    yield "\n]\n" if frame.height else "]\n"


def _csv(frame: "pl.DataFrame") -> Iterator[str]:
    import polars as pl

    lists = [name for name, dtype in frame.schema.items() if dtype == pl.List(pl.String)]
    frame = frame.with_columns(pl.col(lists).list.join(";").replace("", None))
    yield frame.clear().write_csv()
    for part in frame.iter_slices(_ROWS_AT_ONCE):
        yield part.write_csv(include_header=False)
