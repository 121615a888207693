"""Working units as the draws of the posterior read them, without costs or words."""

from datetime import date

import polars as pl

from fleet.decisions.chance import NO_SHARE
from fleet.decisions.due_by_draws import drawn_units, with_cells
from fleet.decisions.forecast import Units
from fleet.decisions.unit_dates import with_ages
from fleet.frames import WORKING, check_frame


def units_by_cell(
    working: pl.DataFrame, cells: pl.DataFrame, prompt_shares: pl.DataFrame, *, as_of: date
) -> tuple[pl.DataFrame, Units, int]:
    """Units that have a chance: their rows, the same as arrays, and how many have none.

    `working`, `cells` and `prompt_shares` as in `due_by_draws`. Raises BadFrame.
    """
    check_frame(working, WORKING, name="working")
    units = (
        with_cells(with_ages(working, as_of=as_of), cells)
        .join(prompt_shares, on="model", how="left", maintain_order="left")
        .join(cells.select("cell", "to_come"), on="cell", how="left", maintain_order="left")
        .with_columns(pl.col("prompt_share").fill_null(NO_SHARE))
    )
    known = units.filter(pl.col("cell").is_not_null() & pl.col("age").is_not_null())
    return known, drawn_units(known, as_of=as_of), units.height - known.height
