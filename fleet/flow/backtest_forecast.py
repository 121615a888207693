"""The forecast that the look back judges: what the due list said on a past day."""

from collections.abc import Mapping
from datetime import date
from typing import Protocol

import polars as pl

from fleet.flow.answers import table_of
from fleet.flow.due import costs_of, estimates_for
from fleet.flow.table import Table

_LEVEL = 0.90


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
    ) -> pl.DataFrame:
        """Return frames.DUE as of a day, ages in days."""


def forecast_at(
    records: Mapping[str, pl.DataFrame],
    as_of: date,
    horizon_years: float,
    *,
    table: Table | None = None,
    new_parts: str = "typical",
) -> pl.DataFrame:
    """The due list from records as they were known on a day: frames.DUE, ages in days.

    Everything the look back judges comes through here: p_fail, age and optimal_age of every unit
    thought to work. `table` is the life table of the records, where it is made already.
    """
    from fleet.decisions import due_list

    table = table or table_of(records, as_of=as_of)
    estimates, regions, _ = estimates_for(table, level=_LEVEL)
    costs = costs_of(records["models"], table.working, planned_cost=None, failure_cost=None)
    # Chances and best ages do not need the limits, which take most of the time.
    return due_list(
        table.working, estimates, regions.clear(), costs, as_of=as_of,
        horizon_years=horizon_years, new_parts=new_parts,
    )  # fmt: skip
