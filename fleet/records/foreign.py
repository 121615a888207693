"""Tables whose headers are not ours: what kind they may be, and which column may be which."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.frames import KINDS
from fleet.records.headers import column_names, plain_name
from fleet.records.raw import Grid
from fleet.records.read import SUFFIXES
from fleet.records.spreadsheets import read_parquet, read_sheet, sheet_names
from fleet.records.text_file import read_grid

_NEAR = 0.75  # likeness of two names from which one is suggested for the other; our own choice
_NOT_BROUGHT_IN = ("withdrawn",)  # taking back is an undo, never a table to fill

# Other names of our columns in plain English, tried before likeness of letters.
_ALSO = {
    "unit": ("machine", "machine_id", "unit_id", "asset", "tag", "name", "id", "machine_no"),
    "model": ("type", "product", "model_no", "board"),
    "serial": ("serial_no", "serial_number", "s_n", "sn"),
    "manufactured": ("built", "made_on", "build_date", "manufacture_date", "year", "made"),
    "made": ("made_on", "date_made"),
    "date": ("when", "on", "day", "date_of_report", "report_date", "reported_on"),
    "kind": ("what", "event", "status", "what_happened", "report"),
    "cause": ("reason", "fault", "root_cause"),
    "because": ("why",),
    "positions": ("parts", "designators", "capacitors", "caps"),
    "position": ("designator", "place", "ref", "reference"),
    "batch": ("lot", "batch_no", "lot_no"),
    "date_code": ("code", "datecode"),
    "notes": ("note", "comment", "comments", "remarks", "remark"),
    "symptom": ("problem", "complaint", "fault_seen"),
    "site": ("location", "where", "shop"),
    "by": ("who", "reporter", "technician", "entered_by"),
    "source": ("owner", "club", "group", "contributor"),
    "ambient_c": ("temperature", "room_temperature", "ambient"),
    "hours_per_year": ("hours", "use", "hours_a_year"),
    "last_known_working": ("last_seen", "last_working", "last_ok"),
    "enrolled_on": ("enrolled", "added", "known_since", "since"),
    "capacitance": ("uf", "value", "cap"),
    "esr_ohm": ("esr",),
    "voltage": ("volts", "v", "rating"),
    "quantity": ("qty", "count", "number"),
    "supplier": ("seller", "vendor"),
    "part": ("part_no", "part_number", "order_code"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ForeignTable:
    """How one table of a foreign file is to be read: its kind, and their columns to ours.

    A column that is mapped to None is left out; so is one that is not named.
    """

    kind: str
    columns: Mapping[str, str | None]


def read_grids(path: Path) -> list[Grid]:
    """Every table of one file, whatever its header says; each named as errors name it.

    Raises BadInput for a file that is missing, damaged, empty or of another type.
    """
    suffix = path.suffix.lower()
    if suffix not in SUFFIXES:
        raise BadInput(f"{path.name} is no CSV, XLSX or Parquet file; save it as one of them")
    if suffix == ".xlsx":
        return [read_sheet(path, sheet) for sheet in sheet_names(path)]
    return [read_parquet(path) if suffix == ".parquet" else read_grid(path)]


def guess_kind(grid: Grid, *, name: str) -> str | None:
    """The kind of record a table holds: what `name` (its stem or sheet) says, else the kind that
    has names for most of its columns and lacks no required one; None where none fits.
    """
    if name.strip().lower() in KINDS:
        return name.strip().lower()
    header = [h for h in grid.header if h.strip()]
    best: tuple[tuple[float, int], str] | None = None
    for place, (kind, known) in enumerate(KINDS.items()):
        if kind in _NOT_BROUGHT_IN:
            continue
        ours = set(suggest_columns(header, kind).values()) - {None}
        needed = {column.name for column in known.columns if column.required}
        # columns every kind may carry say nothing of the kind
        own = len(ours & {column.name for column in known.columns})
        if needed <= ours and own and (best is None or (own, -place) > best[0]):
            best = ((own, -place), kind)
    return None if best is None else best[1]


def suggest_columns(header: Sequence[str], kind: str) -> dict[str, str | None]:
    """For each of their columns the one of ours it may be; each of ours at most once.

    The same name first, then another usual name of it, then the likest letters.
    """
    allowed = column_names(kind)
    plain = {theirs: plain_name(theirs) for theirs in header}
    out: dict[str, str | None] = dict.fromkeys(header)
    free = dict.fromkeys(allowed)
    for score in (_same, _also, _like):
        found = sorted(
            (
                (-score(plain[theirs], ours), place, theirs, ours)
                for place, theirs in enumerate(header)
                if out[theirs] is None
                for ours in free
                if score(plain[theirs], ours) > 0.0
            ),
        )
        for _, _, theirs, ours in found:
            if out[theirs] is None and ours in free:
                out[theirs] = ours
                del free[ours]
    return out


def is_ours(header: Sequence[str], kind: str) -> bool:
    """Whether a table of this header can be read as it is."""
    plain = [plain_name(name) for name in header if name.strip()]
    needed = [column.name for column in KINDS[kind].columns if column.required]
    return set(plain) <= set(column_names(kind)) and set(needed) <= set(plain)


def rename_columns(grid: Grid, table: ForeignTable) -> Grid:
    """The table under our column names, columns that are left out taken away.

    Raises BadInput where a column of ours is chosen twice or a required one is missing, or a
    column is named that the table or the kind has not.
    """
    chosen = {theirs: ours for theirs, ours in table.columns.items() if ours}
    allowed = column_names(table.kind)
    _check_choice(grid, table.kind, chosen, allowed)
    cells = [f"c{i}" for i, theirs in enumerate(grid.header) if theirs in chosen]
    left = [theirs for theirs in grid.header if theirs.strip() and theirs not in chosen]
    said = f"{grid.file}: left out the columns {', '.join(left)}"
    return replace(
        grid,
        header=tuple(chosen[theirs] for theirs in grid.header if theirs in chosen),
        frame=grid.frame.select(*(pl.col(old).alias(f"c{i}") for i, old in enumerate(cells)),
                                "line"),
        notes=(*grid.notes, *((said,) if left else ())),
    )  # fmt: skip


def _check_choice(grid: Grid, kind: str, chosen: Mapping[str, str], allowed: Sequence[str]) -> None:
    ours = list(chosen.values())
    twice = sorted({name for name in ours if ours.count(name) > 1})
    needed = [column.name for column in KINDS[kind].columns if column.required]
    missing = [name for name in needed if name not in ours]
    absent = [theirs for theirs in chosen if theirs not in grid.header]
    doubled = [theirs for theirs in chosen if grid.header.count(theirs) > 1]
    strange = [name for name in ours if name not in allowed]
    for names, fault in (
        (absent, "has no column {}; its columns are " + ", ".join(grid.header)),
        (doubled, "has the column {} twice; name each column once in the file"),
        (strange, "cannot be read: {} is no column of " + kind),
        (twice, "cannot be read: {} is chosen for two columns; choose one"),
        (missing, "cannot be read as " + kind + ": choose which column is the {}"),
    ):
        if names:
            raise BadInput(f"{grid.file} {fault.format(', '.join(names))}")


def _same(theirs: str, ours: str) -> float:
    return 1.0 if theirs == ours else 0.0


def _also(theirs: str, ours: str) -> float:
    return 1.0 if theirs in _ALSO.get(ours, ()) else 0.0


def _like(theirs: str, ours: str) -> float:
    if len(theirs) < 3:
        return 0.0
    if theirs.startswith(f"{ours}_") or theirs.endswith(f"_{ours}"):
        return 0.99
    ratio = SequenceMatcher(None, theirs, ours).ratio()
    return ratio if ratio >= _NEAR else 0.0
