"""Which column of a file is which: exact, or alike but for case, blanks and underscores."""

import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

import polars as pl

from fleet.errors import BadInput
from fleet.frames import COMMON, KINDS, private_columns
from fleet.records.raw import Grid, RawTable, reject_table


def column_names(kind: str) -> list[str]:
    """Columns a record file of this kind may have, in the order export writes them."""
    return list(dict.fromkeys(c.name for c in (*COMMON, *KINDS[kind].columns)))


def plain_name(name: str) -> str:
    """A column name without case, and with blanks, hyphens and underscores alike."""
    return re.sub(r"[\s_-]+", "_", name.strip().lower())


def nearest(name: str, allowed: Iterable[str]) -> str:
    """'; did you mean X?' for the nearest of the allowed names, or nothing."""
    close = get_close_matches(plain_name(name), list(allowed), n=1, cutoff=0.6)
    return f" (did you mean {close[0]}?)" if close else ""


def _check(header: Sequence[str], kind: str, file: str) -> None:
    allowed = column_names(kind)
    plain = [plain_name(name) for name in header]
    twice = sorted({name for name in plain if plain.count(name) > 1})
    if twice:
        raise BadInput(
            f"{file}: the column {', '.join(twice)} is there twice; "
            "nothing of this file was read, name each column once"
        )
    foreign = [h for h, name in zip(header, plain, strict=True) if name not in allowed]
    missing = [c.name for c in KINDS[kind].columns if c.required and c.name not in plain]
    faults = []
    if foreign:
        listed = ", ".join(f"{name!r}{nearest(name, allowed)}" for name in foreign)
        faults.append(f"the columns {listed} are not columns of {kind}")
    if missing:
        faults.append(f"the column {', '.join(missing)} is missing")
    if faults:
        raise BadInput(
            f"{file}: {' and '.join(faults)}; nothing of this file was read, "
            f"the columns of {kind} are {', '.join(allowed)}"
        )


def _without_nameless(grid: Grid) -> tuple[list[str], pl.DataFrame]:
    """Header and frame without the columns that have neither a name nor a cell."""
    nameless = [f"c{i}" for i, name in enumerate(grid.header) if not name.strip()]
    filled = [
        name for name in nameless if (grid.frame[name].fill_null("").str.strip_chars() != "").any()
    ]
    if filled:
        raise BadInput(
            f"{grid.file}: column {int(filled[0][1:]) + 1} holds cells but has no name; "
            "nothing of this file was read, name it in the first line"
        )
    return [name for name in grid.header if name.strip()], grid.frame.drop(nameless)


def as_record_file(grid: Grid, kind: str) -> RawTable:
    """The grid as a table of `kind`. Raises BadInput for a missing required column, a column that
    is not ours, a name that is there twice, or cells under no name.
    """
    header, frame = _without_nameless(grid)
    _check(header, kind, grid.file)
    plain = [plain_name(name) for name in header]
    notes = list(grid.notes)
    changed = [f"{h!r} as {p}" for h, p in zip(header, plain, strict=True) if h.strip() != p]
    if changed:
        notes.append(f"{grid.file}: read the columns {', '.join(changed)}")
    cells = [name for name in frame.columns if name != "line"]
    ragged = grid.ragged
    if set(plain) & set(private_columns(kind)):
        # which cell of such a row is private cannot be told
        ragged = ragged.with_columns(row=pl.lit("(not kept: the file has private notes)"))
    return RawTable(
        kind=kind,
        file=grid.file,
        frame=frame.rename(dict(zip(cells, plain, strict=True))),
        rejected=reject_table(grid.file, kind, ragged),
        notes=tuple(notes),
    )
