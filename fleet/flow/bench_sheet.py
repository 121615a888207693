"""Everything on a bench sheet, for one unit or for any unit of a model. METHODS: bench-sheet."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any

import polars as pl

from fleet.errors import NotKnown
from fleet.flow import bench_places
from fleet.flow.bench_discharge import read_farads, worst_charge
from fleet.flow.bench_facts import BenchSheet, GoesIn, Place, Step
from fleet.flow.bench_log_line import log_line, reading_lines
from fleet.flow.bench_parts import parts_by_place
from fleet.flow.bench_readings import elsewhere, readings_by_place
from fleet.flow.bench_there import in_places
from fleet.flow.bench_unit import history, model_facts, unit_facts, why_due
from fleet.flow.known import known_records

READ = (
    "sources", "models", "positions", "batches", "units", "reports", "readings", "offers", "stock",
    "shop", "prices", "steps",
)  # fmt: skip
_Row = Mapping[str, Any]
_MOST = 6  # names listed where none is near the one given


def bench_sheet(
    store: Path,
    *,
    as_of: date,
    unit: str | None = None,
    model: str | None = None,
    due: pl.DataFrame | None = None,
) -> BenchSheet:
    """The sheet of a `unit`, or of a `model` for any of its units, as known on `as_of`.

    `due`: the due list of that day (frames.DUE), reckoned anew where it is not given and a unit
    was asked for. Raises NotKnown for a unit or model that no record names.
    """
    from fleet.flow.demo import is_invented

    if unit is not None:
        return bench_sheets(store, [unit], as_of=as_of, due=due)[0]
    records = known_records(store, READ, as_of=as_of)
    return sheet_of(records, as_of=as_of, model=model, invented=is_invented(store))


def bench_sheets(
    store: Path, units: Sequence[str], *, as_of: date, due: pl.DataFrame | None = None
) -> tuple[BenchSheet, ...]:
    """The sheets of several units in their order; records and due list are read once for all."""
    from fleet.flow.demo import is_invented

    records = known_records(store, READ, as_of=as_of)
    for unit in units:
        _unit_row(records, unit)  # say so before anything long is reckoned
    listed = _due_list(store, as_of) if due is None else due
    invented = is_invented(store)
    return tuple(
        sheet_of(records, as_of=as_of, unit=unit, due=listed, invented=invented) for unit in units
    )


def sheet_of(
    records: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    unit: str | None = None,
    model: str | None = None,
    due: pl.DataFrame | None = None,
    invented: bool = False,
) -> BenchSheet:
    """The sheet from records of the kinds READ as known on `as_of`."""
    row: _Row = _unit_row(records, unit) if unit is not None else {}
    name = str(row["model"]) if row else _known_model(records, model)
    kind = _model_row(records, name)
    own = records["reports"].filter(unit=unit) if unit is not None else records["reports"].clear()
    positions = bench_places.one_each(records["positions"], name)
    steps = _steps(records["steps"], name, unit)
    goes_in = parts_by_place(records, positions, name, as_of=as_of)
    places = _places(records, positions, row, kind, own, goes_in, steps, as_of)
    known = {place.position for place in places}
    worst = worst_charge(positions, read_farads(positions))
    return BenchSheet(
        unit=unit,
        model=name,
        as_of=as_of,
        facts=(*(unit_facts(row) if row else ()), *model_facts(kind, records, name, as_of)),
        model_notes=kind.get("notes"),
        why_due=why_due(unit, due, own) if unit is not None else None,
        history=history(own),
        worst=worst,
        places=places,
        parts=bench_places.needed(places, records["stock"], records["offers"], as_of=as_of),
        steps={
            moment: tuple(
                step for step in kept if moment != "position" or step.position not in known
            )
            for moment, kept in steps.items()
        },
        hold_at=bench_places.hold_at(places, worst),
        log_line=log_line(unit),
        reading_lines=reading_lines(places),
        invented=invented,
        notes=() if places else (f"No positions of {name} are recorded: add them with fleet add "
                                 "position, or write them in by hand.",),
    )  # fmt: skip


def _places(
    records: Mapping[str, pl.DataFrame],
    positions: pl.DataFrame,
    unit: _Row,
    model: _Row,
    reports: pl.DataFrame,
    goes_in: Mapping[str, GoesIn],
    steps: Mapping[str, tuple[Step, ...]],
    as_of: date,
) -> tuple[Place, ...]:
    names = positions["position"].to_list()
    there = in_places(unit, model, reports, records["batches"], names, as_of=as_of) if unit else {}
    name = unit.get("unit")
    same = records["units"].join(positions.select("model").unique(), on="model", how="semi")
    read = readings_by_place(records["readings"], positions, name) if name else {}
    others = elsewhere(records["readings"], positions, same["unit"].to_list(), name)
    return tuple(
        bench_places.place(
            row,
            there=there.get(row["position"]),
            goes_in=goes_in.get(row["position"]),
            readings=read.get(row["position"], ()),
            elsewhere=others.get(row["position"]),
            steps=tuple(s for s in steps.get("position", ()) if s.position == row["position"]),
        )
        for row in positions.iter_rows(named=True)
    )


def _steps(steps: pl.DataFrame, model: str, unit: str | None) -> dict[str, tuple[Step, ...]]:
    """Steps kept for the model, and for the unit where one is given, in order, by moment."""
    ours = pl.col("unit").is_null()
    if unit is not None:
        ours = ours | (pl.col("unit") == unit)
    kept = steps.filter((pl.col("model") == model) & ours).sort(
        "place", "entered_on", "record", nulls_last=True, maintain_order=True
    )
    out: dict[str, list[Step]] = {}
    for row in kept.iter_rows(named=True):
        step = Step(
            record=row["record"],
            text=row["text"],
            cause=row["cause"],
            position=row["position"],
            of_unit=row["unit"] is not None,
        )
        out.setdefault(row["moment"], []).append(step)
    return {moment: tuple(found) for moment, found in out.items()}


def _unit_row(records: Mapping[str, pl.DataFrame], unit: str) -> _Row:
    found = records["units"].filter(unit=unit)
    if found.is_empty():
        raise NotKnown(_nobody("unit", unit, records["units"]["unit"].to_list()))
    return found.row(-1, named=True)


def _known_model(records: Mapping[str, pl.DataFrame], model: str | None) -> str:
    names = pl.concat(
        [records[kind]["model"] for kind in ("models", "units", "positions")]
    ).unique()
    if model is None or model not in names:
        raise NotKnown(_nobody("model", str(model), names.to_list()))
    return model


def _model_row(records: Mapping[str, pl.DataFrame], model: str) -> _Row:
    """What the records of a model say, column by column the last that says anything."""
    rows = records["models"].filter(model=model)
    if rows.is_empty():
        return {}
    return rows.select(pl.all().drop_nulls().last()).row(0, named=True)


def _nobody(what: str, name: str, names: list[str]) -> str:
    from fleet.records import bare, nearest_names

    known = sorted(names)
    alike: dict[str, list[str]] = {}
    for one in known:
        alike.setdefault(bare(one), []).append(one)
    near = nearest_names(name, known, alike)
    if near:
        return f"no {what} is called {name}; did you mean {' or '.join(near)}? Correct the name"
    some = f"there are {', '.join(known[:_MOST])}" if known else f"fleet add {what} adds one"
    return f"no {what} is called {name}; {some}{' and more' if len(known) > _MOST else ''}"


def _due_list(store: Path, as_of: date) -> pl.DataFrame:
    from fleet.flow.due import due

    return due(store, as_of=as_of).frame
