"""How often machines are opened for other reasons than their capacitors. METHODS: openings."""

from collections.abc import Mapping

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.table import Table

_PRIOR_OPENINGS, _PRIOR_YEARS = 0.5, 10.0  # ours: one in twenty machine years before any report


def openings_of(records: Mapping[str, pl.DataFrame], table: Table) -> pl.DataFrame:
    """Per model: openings seen, machine years watched, and openings a machine and year.

    Columns model, openings, years, rate. Counted are repairs without new capacitors, and failures
    of other causes, each machine once a month; watched are the lives of the life table.
    """
    reports = records["reports"]
    other = (pl.col("kind") == "repaired") | (
        (pl.col("kind") == "failed") & (pl.col("cause") == "other")
    )
    units = records["units"].select("unit", "model").unique("unit", keep="last")
    seen = (
        reports.filter(other)
        .select("unit", month=pl.coalesce("date_earliest", "date_latest").dt.truncate("1mo"))
        .unique()
        .join(units, on="unit")
        .group_by("model")
        .agg(openings=pl.len())
    )
    span = (pl.max_horizontal("low", "high") - pl.col("entry")).clip(lower_bound=0.0)
    watched = (
        table.lives.filter(pl.col("known_by").is_null())
        .group_by("model")
        .agg(years=(span * pl.col("count")).sum() / DAYS_PER_YEAR)
    )
    models = units.select("model").unique().sort("model")
    return (
        models.join(seen, on="model", how="left", maintain_order="left")
        .join(watched, on="model", how="left", maintain_order="left")
        .with_columns(
            pl.col("openings").fill_null(0).cast(pl.Int64), pl.col("years").fill_null(0.0)
        )
        .with_columns(
            rate=(pl.col("openings") + _PRIOR_OPENINGS) / (pl.col("years") + _PRIOR_YEARS)
        )
    )
