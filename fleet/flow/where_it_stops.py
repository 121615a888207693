"""Where the data behind a curve stop, in sentences."""

from collections.abc import Sequence
from typing import Any

import polars as pl

from fleet.flow.read_aloud import number

_NONE_LEFT = 1e-6  # share still good below which all have failed


def curve_stops(points: pl.DataFrame, *, by: Sequence[str]) -> tuple[str, ...]:
    """From which age to which each survival curve is drawn in full, and why it ends there.

    `points`: `by` columns and frames.CURVE, ages in years, in order of age within each group.
    """
    said = []
    for name, rows in _groups(points, by):
        full = rows.filter("supported")
        if not rows["failures"].sum():
            oldest = number(float(rows["age"].item(-1)))
            said.append(f"{name}: no failure was seen; the oldest was watched to {oldest} years.")
            continue
        if full.is_empty():
            if not rows["survival"].null_count():  # else flow.unsettled says why none is drawn
                said.append(f"{name}: too few were watched at every age to trust any of it.")
            continue
        first, last = full.row(0, named=True), full.row(-1, named=True)
        after = rows.filter(pl.col("age") > last["age"], ~pl.col("supported"))
        said.append(f"{name}: {_span(rows, first, last)}; {_why(last, after)}.")
    return tuple(said)


def rate_stops(rates: pl.DataFrame, *, by: Sequence[str], what: str = "sets") -> tuple[str, ...]:
    """The ages between which enough were watched, and the oldest age at which any was.

    `rates`: `by` columns, age (years) and supported, in order of age within each group; `what`
    are watched.
    """
    said = []
    for name, rows in _groups(rates, by):
        full, oldest = rows.filter("supported")["age"], rows["age"].max()
        if full.is_empty():
            said.append(f"{name}: too few {what} were watched at every age.")
            continue
        low, high = number(full.item(0)), number(full.item(-1))
        if low == high:
            said.append(f"{name}: nothing happened while enough {what} were watched.")
            continue
        beyond = (
            f"the oldest watched was {number(float(oldest))}"  # type: ignore[arg-type]
            if number(float(oldest)) != high  # type: ignore[arg-type]
            else "none was watched for longer"
        )
        said.append(f"{name}: enough {what} were watched from {low} to {high} years; {beyond}.")
    return tuple(said)


def paper_stops(points: pl.DataFrame, *, by: Sequence[str]) -> tuple[str, ...]:
    """The ages of the first and the last failure drawn. `points`: `by` columns and age (years)."""
    return tuple(
        f"{name}: failures from {number(rows['age'].item(0))} to "
        f"{number(rows['age'].item(-1))} years."
        for name, rows in _groups(points, by)
    )


def _span(rows: pl.DataFrame, first: dict[str, Any], last: dict[str, Any]) -> str:
    """Drawn from where to where; from new unless too few were watched while young."""
    early = rows.filter(pl.col("age") < first["age"])
    until = f"to {number(last['age'])} years"
    return f"drawn from {number(first['age'])} {until}" if early.height else f"drawn {until}"


def _why(last: dict[str, Any], after: pl.DataFrame) -> str:
    """Why the full line ends at its last point."""
    if last["survival"] is not None and last["survival"] < _NONE_LEFT:
        # not all of the group: others were lost from sight or renewed before
        later = float(after["at_risk"].max() or 0.0)  # type: ignore[arg-type]
        past = "" if later >= 1.0 else ", and none was watched for longer"
        return f"the last that were still watched had failed by then{past}"
    if after.is_empty() and last["failures"] > 0.0:  # others may have been watched for longer
        return "that is the last failure that can be placed"
    if after.is_empty():
        return "none was watched for longer"
    if after["survival"].null_count():
        return "beyond that several curves fit equally well"
    most = float(after["at_risk"].max() or 0.0)  # type: ignore[arg-type]
    if most < 1.0:
        return "none was watched for longer"
    return f"beyond that at most {number(round(most, 1))} were still watched, too few to trust"


def _groups(frame: pl.DataFrame, by: Sequence[str]) -> list[tuple[str, pl.DataFrame]]:
    """Each group's name and rows, in the order they come."""
    if not by:
        return [("All units", frame)] if frame.height else []
    names = [pl.col(c).cast(pl.String).fill_null(f"{c} unknown") for c in by]
    named = frame.with_columns(_name=pl.concat_str(names, separator=", "))
    parts = named.partition_by("_name", maintain_order=True, as_dict=True)
    return [(str(name), rows) for (name,), rows in parts.items()]
