"""The machine somebody decides on: its state, its lives, and when it is due."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from typing import TYPE_CHECKING

import numpy as np
import polars as pl

from fleet.ages import days, years
from fleet.decisions.keep_or_replace import Machine
from fleet.errors import BadInput, NotKnown
from fleet.fits import Posterior
from fleet.flow.choose_words import due_said
from fleet.flow.due_by_posterior import Asked as DueAsked
from fleet.flow.due_by_posterior import due_of_posterior, working_units
from fleet.flow.posterior import prompt_shares
from fleet.flow.replacement_prices import Offered
from fleet.flow.table import Table

if TYPE_CHECKING:
    from fleet.decisions.ahead import Ahead
    from fleet.decisions.drawn_lives import DrawnLives
    from fleet.flow.choose import Asked

_FEWEST_FAILURES = 3.0
_STATES = ("failed", "working", "recapped", "repaired", "board_swapped", "retired")


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A unit, its model, whether it works, and what is to be said about that."""

    unit: str
    model: str
    works: bool
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What the due list says of the machine: its action (null: not on the list, as it does not
    work), and whether too few failures of its model are known to rest a decision on.
    """

    action: str | None
    too_few: bool


def find_machine(
    unit: str, table: Table, records: Mapping[str, pl.DataFrame], *, failed: bool
) -> Found:
    """The unit, or why nothing can be said about it (NotKnown, BadInput)."""
    units = records["units"].filter(pl.col("unit") == unit)
    if units.is_empty():
        near = get_close_matches(unit, records["units"]["unit"].unique().to_list(), n=1)
        hint = f"; did you mean {near[0]}" if near else "; fleet due lists the machines"
        raise NotKnown(f"there is no unit {unit} in the store{hint}")
    model = str(units["model"][-1])
    if failed:
        return Found(unit=unit, model=model, works=False, notes=("Taken as failed, as asked",))
    if table.working.filter(pl.col("unit") == unit).height:
        return Found(unit=unit, model=model, works=True)
    told = (
        records["reports"]
        .filter((pl.col("unit") == unit) & pl.col("kind").is_in(_STATES))
        .with_columns(day=pl.coalesce("date_latest", "date_earliest"))
        .sort("day", nulls_last=False, maintain_order=True)
    )
    last = told.row(-1, named=True) if told.height else None
    if last is not None and last["kind"] == "retired":
        raise BadInput(
            f"{unit} was retired on {last['day']}: there is nothing to decide; if it works after "
            "all, log that it does"
        )
    if (last is not None and last["kind"] == "failed") or (
        last is None and units["enrolled_because"][-1] == "failed"
    ):
        when = f" on {last['day']}" if last is not None else ""
        note = f"It failed{when} and was not mended since: options are reckoned for a dead machine"
        return Found(unit=unit, model=model, works=False, notes=(note,))
    left = table.left_out.filter(pl.col("unit") == unit)["reason"].drop_nulls()
    why = f" ({left[-1]})" if left.len() else ""
    raise BadInput(
        f"it is not known how {unit} is or how old its parts are{why}; log that it works (fleet "
        "log working) and when it was made, or give --failed if it is dead"
    )


def machine_of(
    found: Found,
    table: Table,
    records: Mapping[str, pl.DataFrame],
    posterior: Posterior,
    offer: Offered,
    as_of: date,
    asked: Asked,
) -> tuple[Machine, Standing, tuple[str, ...]]:
    """Lives of the machine's parts and of all that could take their place, where it stands on the
    due list, and notes on them.
    """
    from fleet.decisions.ahead import Ahead
    from fleet.decisions.best_ages_by_draws import best_ages
    from fleet.decisions.drawn_lives import DrawnLives
    from fleet.decisions.set_life import SetLife

    cells = posterior.cells.filter(pl.col("model") == found.model, pl.col("to_come"))
    if cells.is_empty():
        raise BadInput(
            f"how long model {found.model} lasts cannot be estimated yet; log the units that still "
            "work, beside those that failed"
        )
    lives = DrawnLives.of(posterior.cells, posterior.draws)
    number = dict(zip(cells["parts"], cells["cell"], strict=True))
    typical = SetLife.to_come(lives, number["original"])
    new = SetLife.to_come(lives, number["replaced"])
    of_new = typical
    if asked.new_life is not None:
        new = new.scaled(days(asked.new_life))
    if asked.new_machine_life is not None:
        of_new = typical.scaled(days(asked.new_machine_life))
    best = best_ages(
        new.shape[None], np.log(new.scale)[None], new.weight[None],
        np.array([offer.planned]), np.array([offer.failure]), None,
    )  # fmt: skip
    own, due_in, action = None, None, None
    notes: tuple[str, ...] = ()
    if found.works:
        own, due_in, action, notes = _own(found, table, records, posterior, lives, offer, as_of)
    too_few = float(cells["failures"].sum()) < _FEWEST_FAILURES
    machine = Machine(
        own=own,
        new_parts=Ahead.of_set(new),
        typical=typical,
        of_new=Ahead.of_set(of_new),
        due_in=due_in,
        best_age=float(best.age[0]),
    )
    return machine, Standing(action=action, too_few=too_few), notes


def _own(
    found: Found,
    table: Table,
    records: Mapping[str, pl.DataFrame],
    posterior: Posterior,
    lives: DrawnLives,
    offer: Offered,
    as_of: date,
) -> tuple[Ahead, int | None, str, tuple[str, ...]]:
    """Its own parts from today on, months until they are due, the due list's action and word."""
    from fleet.decisions.ahead import STEP, Ahead
    from fleet.decisions.own_doubt import own_law
    from fleet.decisions.units_by_cell import units_by_cell

    working = working_units(table, records).filter(pl.col("unit") == found.unit)
    shares = prompt_shares(table.lives.filter(pl.col("parts") != "partial"))
    rows, units, without = units_by_cell(working, posterior.cells, shares, as_of=as_of)
    if without or rows.is_empty():
        raise BadInput(
            f"nobody knows how old the parts of {found.unit} are; give its build date, or read the "
            "date codes on the parts"
        )
    costs = pl.DataFrame(
        {
            "model": [found.model],
            "planned_cost": [offer.planned],
            "failure_cost": [offer.failure],
        }
    )
    own_table = replace(table, working=table.working.filter(pl.col("unit") == found.unit))
    due = due_of_posterior(posterior, own_table, records, costs, DueAsked(as_of=as_of))
    row = due.row(0, named=True)
    due_in = None
    if row["due_on"] is not None:
        due_in = round((row["due_on"] - as_of).days / STEP)
    said = due_said(years(row["age"]), str(row["reason"]))
    return Ahead.of_unit(own_law(lives, units)), due_in, str(row["action"]), (said,)
