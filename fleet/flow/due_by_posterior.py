"""The due list by the posterior, from a life table and the records behind it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import polars as pl

from fleet.decisions.policies import LEAST_COST, Policy
from fleet.fits import Posterior, Prior
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.kept import keeping
from fleet.flow.posterior import posterior_of, prompt_shares, two_parts
from fleet.flow.table import Table


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a due list is asked for; `level` is that of the limits of chances.

    `new_lives`: lives of what goes in (unit, new_life in days), before `new_parts`.
    """

    as_of: date
    horizon_years: float = 2.0
    new_parts: str = "typical"
    level: float = 0.90
    new_lives: pl.DataFrame | None = field(default=None, compare=False)
    policy: Policy = LEAST_COST


def due_by_posterior(
    table: Table,
    records: Mapping[str, pl.DataFrame],
    costs: pl.DataFrame,
    asked: Asked,
    *,
    prior: Prior | None = None,
    words: bool = True,
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The due list (frames.DUE, ages in days) and the sentences with it.

    `records` are the known frames the table was built from; `costs` columns model, planned_cost,
    failure_cost. Without `words` no sentences, which take as long as the list.
    """
    from fleet.flow.prior_words import prior_words, sensitivity

    found = posterior_of(table, records, as_of=asked.as_of, prior=prior)
    frame = due_of_posterior(found, table, records, costs, asked)
    if not words:
        return frame, ()
    held = [prior_words(found.prior)]
    if hangs := sensitivity(found, frame, table, records, costs, asked):
        held.append(hangs)
    pooled = table.lives.filter(pl.col("parts") != "partial").with_columns(parts=two_parts())
    _, apart = set_apart(pooled, table, ("model", "parts"))
    return frame, (*what_failures_alone_tell(apart, ("model",)), " ".join(held))


def due_of_posterior(
    found: Posterior,
    table: Table,
    records: Mapping[str, pl.DataFrame],
    costs: pl.DataFrame,
    asked: Asked,
) -> pl.DataFrame:
    """The same from a posterior that is there already."""
    from fleet.flow.due_by_parts import due_by_parts

    inputs = Inputs(
        working=working_units(table, records),
        cells=found.cells,
        draws=found.draws,
        costs=costs,
        shares=prompt_shares(table.lives.filter(pl.col("parts") != "partial")),
    )
    if keeping() and asked.new_lives is None:
        return due_by_parts(inputs, asked)
    return due_of_inputs(inputs, asked)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Inputs:
    """Frames a due list is made of, as `decisions.due_by_draws` names them."""

    working: pl.DataFrame
    cells: pl.DataFrame
    draws: pl.DataFrame
    costs: pl.DataFrame
    shares: pl.DataFrame


def due_of_inputs(inputs: Inputs, asked: Asked) -> pl.DataFrame:
    """The list from what it is made of."""
    from fleet.decisions import due_by_draws

    return due_by_draws(
        inputs.working,
        inputs.cells,
        inputs.draws,
        inputs.costs,
        inputs.shares,
        as_of=asked.as_of,
        horizon_years=asked.horizon_years,
        new_parts=asked.new_parts,
        new_lives=asked.new_lives,
        level=asked.level,
        policy=asked.policy,
    )


def working_units(table: Table, records: Mapping[str, pl.DataFrame]) -> pl.DataFrame:
    """Working units (frames.WORKING) with old_batch, the batch of the parts left in a partly
    renewed set.
    """
    factory = records["units"].select("unit", old_batch=pl.col("batch"))
    # only the second set of a unit can hold parts of the factory's for sure
    return table.working.join(factory, on="unit", how="left", maintain_order="left").with_columns(
        old_batch=pl.when(pl.col("set_no") == 2).then("old_batch")
    )
