"""Places typed in that are on no record: a likely slip, said at once; and steps without a place."""

from collections.abc import Iterator, Mapping
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.flow.known import as_entered

_NO_PLACE = ("", "ALL", "HOURS")


def refuse_step_without_place(kind: str, fields: Mapping[str, str]) -> None:
    """BadInput for a step at a position that does not say which."""
    at = (fields.get("moment") or "").strip().lower() == "position"
    if kind == "steps" and at and not (fields.get("position") or "").strip():
        raise BadInput(
            "the step is for the moment position, and which position is not said: give --position, "
            "or another moment for the machine as a whole"
        )


def unknown_places(store: Path, tables: Mapping[str, pl.DataFrame]) -> tuple[str, ...]:
    """Sentences on positions and units that clean rows of reports, readings and steps name and no
    record describes. Only for models with described positions: of others nothing can be said.
    """
    rows = [*_named(tables)]
    if not rows:
        return ()
    held = as_entered(store, ("units", "positions"))
    named = {unit for unit, *_ in rows if unit is not None}
    units = held["units"].filter(pl.col("unit").is_in(named))
    model_of = dict(units.select("unit", "model").iter_rows())
    places: dict[str, list[str]] = {}
    for model, position in held["positions"].select("model", "position").iter_rows():
        places.setdefault(model, []).append(position)
    notes = []
    for unit, told_model, names in rows:
        if told_model is not None and unit is not None and unit not in model_of:
            notes.append(f"there is no unit {unit} on record; see that it is not misspelt")
        model = told_model or model_of.get(unit or "")
        known_here = places.get(model or "", [])
        same = {name.upper() for name in known_here}
        odd = [name for name in names if name.upper() not in same]
        if known_here and odd:
            there = ", ".join(dict.fromkeys(known_here))
            notes.append(
                f"{model} has no position {', '.join(odd)} on record (there are {there}); see that "
                "it is not misspelt, or describe it with fleet add position"
            )
    return tuple(dict.fromkeys(notes))


def _named(
    tables: Mapping[str, pl.DataFrame],
) -> Iterator[tuple[str | None, str | None, list[str]]]:
    """Unit, model (of a step) and positions of each row."""
    for kind, column in (("reports", "positions"), ("readings", "position"), ("steps", "position")):
        if kind not in tables:
            continue
        for row in tables[kind].iter_rows(named=True):
            words = [word.strip() for word in (row[column] or "").split(";")]
            names = [word for word in words if word.upper() not in _NO_PLACE]
            if names or kind == "steps":
                yield row["unit"], row["model"] if kind == "steps" else None, names
