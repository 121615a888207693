"""The forecast that the look back judges: what the due list said on a past day."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

import polars as pl

from fleet.flow.answers import table_of
from fleet.flow.due import costs_of, estimates_for
from fleet.flow.due_by_posterior import Asked, due_of_posterior, working_units
from fleet.flow.posterior import posterior_of, prompt_shares
from fleet.flow.table import Table

_LEVEL = 0.90


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Said:
    """A due list, and how many failures it lets one expect.

    `count` takes units followed (decisions.FOLLOWED) and the level of the limits, and gives
    decisions.COUNTS; None where nothing is foretold of numbers.
    """

    frame: pl.DataFrame
    count: Callable[[pl.DataFrame, float], pl.DataFrame] | None = None


class Forecast(Protocol):
    """A way to make forecasts: what `forecast_at` takes and gives."""

    def __call__(
        self,
        records: Mapping[str, pl.DataFrame],
        as_of: date,
        horizon_years: float,
        *,
        table: Table | None = None,
        new_parts: str = "typical",
    ) -> pl.DataFrame | Said:
        """Return frames.DUE as of a day, ages in days, alone or with what it says of numbers."""


def forecast_at(
    records: Mapping[str, pl.DataFrame],
    as_of: date,
    horizon_years: float,
    *,
    table: Table | None = None,
    new_parts: str = "typical",
) -> Said:
    """The due list by the posterior from records as they were known on a day.

    Everything the look back judges comes through here: p_fail, age and optimal_age of every unit
    thought to work (frames.DUE, ages in days), and numbers of failures. `table` is the life table
    of the records, where it is made already.
    """
    from fleet.decisions import followed_failures

    table = table or table_of(records, as_of=as_of)
    costs = costs_of(records["models"], table.working, planned_cost=None, failure_cost=None)
    found = posterior_of(table, records, as_of=as_of)
    asked = Asked(as_of=as_of, horizon_years=horizon_years, new_parts=new_parts, level=_LEVEL)
    working = working_units(table, records)
    shares = prompt_shares(table.lives.filter(pl.col("parts") != "partial"))

    def count(followed: pl.DataFrame, level: float) -> pl.DataFrame:
        return followed_failures(
            working, found.cells, found.draws, shares, followed, as_of=as_of, level=level
        )

    return Said(frame=due_of_posterior(found, table, records, costs, asked), count=count)


def likelihood_at(
    records: Mapping[str, pl.DataFrame],
    as_of: date,
    horizon_years: float,
    *,
    table: Table | None = None,
    new_parts: str = "typical",
) -> Said:
    """The same by maximum likelihood; no numbers, for its limits are of chances alone."""
    from fleet.decisions import due_list

    table = table or table_of(records, as_of=as_of)
    estimates, regions, _ = estimates_for(table, level=_LEVEL)
    costs = costs_of(records["models"], table.working, planned_cost=None, failure_cost=None)
    # Chances and best ages do not need the limits, which take most of the time.
    frame = due_list(
        table.working, estimates, regions.clear(), costs, as_of=as_of,
        horizon_years=horizon_years, new_parts=new_parts,
    )  # fmt: skip
    return Said(frame=frame)


FORECASTS: Mapping[str, Forecast] = {"posterior": forecast_at, "likelihood": likelihood_at}
