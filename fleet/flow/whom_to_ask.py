"""Whom to ask after machines: whoever told of each last."""

from collections.abc import Sequence
from datetime import date

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.check_ask import SILENT_YEARS

ASKED = pl.Schema(
    {
        "unit": pl.String(),
        "model": pl.String(),
        "last_known_working": pl.Date(),
        "person": pl.String(),  # who told of it last; null: nobody gave a name
        "source": pl.String(),
        "site": pl.String(),
    }
)


def not_heard_of(working: pl.DataFrame, *, as_of: date) -> pl.DataFrame:
    """Machines thought to work of which nobody has told for more than SILENT_YEARS, or ever."""
    since = (pl.lit(as_of) - pl.col("last_known_working")).dt.total_days()
    return working.filter(since.is_null() | (since > SILENT_YEARS * DAYS_PER_YEAR))


def whom_to_ask(
    names: Sequence[str], working: pl.DataFrame, reports: pl.DataFrame, units: pl.DataFrame
) -> pl.DataFrame:
    """ASKED, in the order of `names`.

    `working`: unit, model, last_known_working; `reports`, `units`: their known records.
    """
    told = (
        reports.filter(pl.col("by").is_not_null())
        .sort("date_latest", "entered_on", "record", nulls_last=False)
        .group_by("unit")
        .agg(person=pl.col("by").last())
    )
    where = units.select("unit", "source", "site").unique("unit", keep="last")
    return (
        pl.DataFrame({"unit": list(names)}, schema={"unit": pl.String()})
        .join(
            working.select("unit", "model", "last_known_working"),
            on="unit", how="left", maintain_order="left",
        )
        .join(told, on="unit", how="left", maintain_order="left")
        .join(where, on="unit", how="left", maintain_order="left")
        .select(pl.col(name).cast(dtype) for name, dtype in ASKED.items())
    )  # fmt: skip
