"""Rows of text, from files or typed, to tables the store takes: cleaned, named, identified."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import polars as pl

from fleet.errors import BadInput, NotKnown
from fleet.flow.known import as_entered
from fleet.frames import COMMON, KINDS, REJECTED, empty_frame

if TYPE_CHECKING:
    from fleet.records import Meta, RawTable

_KNOWN = ("sources", "models", "batches", "units")
_OF_UNITS = ("reports", "readings")


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Prepared:
    """Tables by kind (clean_schema, with ids), refused rows (REJECTED), and sentences."""

    tables: dict[str, pl.DataFrame]
    rejected: pl.DataFrame
    notes: tuple[str, ...]


def known_names(store: Path) -> dict[str, pl.DataFrame]:
    """What the store knows of sources, models, batches and units now."""
    return as_entered(store, _KNOWN)


def clean_all(
    raws: Sequence["RawTable"], meta: "Meta", known: Mapping[str, pl.DataFrame], *, today: date
) -> list[tuple[str, pl.DataFrame, pl.DataFrame, tuple[str, ...]]]:
    """Every raw table cleaned: kind, kept rows, refused rows, sentences."""
    from fleet.records import clean, hemispheres_of

    halves = hemispheres_of(raws, known=known.get("sources"), meta=meta)
    out = []
    for raw in raws:
        done = clean(raw, today=today, meta=meta, hemispheres=halves)
        rejected = pl.concat([raw.rejected, done.rejected])
        out.append((raw.kind, done.kept, rejected, (*raw.notes, *done.notes)))
    return out


def settle(
    tables: Mapping[str, pl.DataFrame],
    known: Mapping[str, pl.DataFrame],
    *,
    by: str | None,
    aliases: Mapping[str, str] | None = None,
) -> Prepared:
    """Names resolved, blank days of entry filled in, ids given; what cannot be is refused."""
    from fleet.records import identify, raise_entered_on, resolve_names

    resolved = resolve_names(tables, known=known, aliases=aliases)
    enrolled = _enrolled(resolved.tables, known)
    out, rejected = {}, [resolved.rejected]
    for kind, frame in resolved.tables.items():
        filled = frame.with_columns(pl.col("by").fill_null(pl.lit(by, dtype=pl.String)))
        if kind in _OF_UNITS:
            filled = raise_entered_on(filled, enrolled)
        named = identify(filled, kind)
        out[kind] = named.kept
        rejected.append(named.rejected)
    return Prepared(tables=out, rejected=pl.concat(rejected), notes=resolved.notes)


def prepare(
    store: Path,
    wanted: Mapping[str, Sequence[Mapping[str, str]]],
    *,
    today: date,
    by: str | None,
) -> Prepared:
    """Typed rows (kind to rows of column to text), entered today. All or nothing.

    Raises BadInput for a column or value that cannot be, NotKnown for a unit nobody knows.
    """
    from fleet.records import Meta

    known = known_names(store)
    tables: dict[str, pl.DataFrame] = {}
    notes: list[str] = []
    raws = [_raw(kind, rows, today) for kind, rows in wanted.items()]
    for kind, kept, rejected, said in clean_all(raws, Meta(), known, today=today):
        _refuse_any(rejected, BadInput)
        tables[kind] = kept
        notes += said
    settled = settle(tables, known, by=by)
    _refuse_any(settled.rejected, NotKnown)
    return Prepared(
        tables=settled.tables, rejected=empty_frame(REJECTED), notes=(*notes, *settled.notes)
    )


def _raw(kind: str, rows: Sequence[Mapping[str, str]], today: date) -> "RawTable":
    from fleet.records import RawTable

    own = [column.name for column in KINDS[kind].columns]
    allowed = dict.fromkeys([*(column.name for column in COMMON), *own])
    for name in {name for row in rows for name in row}:
        if name not in allowed:
            raise BadInput(f"{kind} records have no column {name}; they have {', '.join(own)}")
    cells = [{"entered_on": today.isoformat(), **row} for row in rows]
    columns = [name for name in allowed if any(name in row for row in cells)]
    frame = pl.DataFrame(
        [[row.get(name) or None for name in columns] for row in cells],
        schema=dict.fromkeys(columns, pl.String()),
        orient="row",
    ).with_row_index("line", offset=1)
    return RawTable(
        kind=kind, file="typed in", frame=frame.with_columns(pl.col("line").cast(pl.Int64))
    )


def _refuse_any(rejected: pl.DataFrame, error: type[BadInput] | type[NotKnown]) -> None:
    if rejected.is_empty():
        return
    reasons = rejected["reason"].unique(maintain_order=True).to_list()
    more = f" (and {len(reasons) - 1} more)" if len(reasons) > 1 else ""
    raise error(f"{reasons[0]}{more}; nothing was recorded")


def _enrolled(
    tables: Mapping[str, pl.DataFrame], known: Mapping[str, pl.DataFrame]
) -> pl.DataFrame:
    """When the units that `tables` tell of were enrolled."""
    sides = [frame["units"] for frame in (tables, known) if "units" in frame]
    columns = ["unit", "enrolled_on_latest"]
    if not sides:
        return pl.DataFrame(schema={"unit": pl.String(), "enrolled_on_latest": pl.Date()})
    named = pl.concat([tables[kind]["unit"] for kind in _OF_UNITS if kind in tables] or [_NO_UNIT])
    asked = [s.select(columns).filter(pl.col("unit").is_in(named.implode())) for s in sides]
    return pl.concat(asked).unique("unit", keep="first")


_NO_UNIT = pl.Series("unit", [], dtype=pl.String)
