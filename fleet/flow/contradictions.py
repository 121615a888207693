"""Reports that cannot be true beside what the store already holds about their units."""

from pathlib import Path

import polars as pl


def contradictions(store: Path, reports: pl.DataFrame) -> list[str]:
    """One sentence for each report surely before its unit was made, or surely seen working after
    it was retired (or the other way round). Ranges that could agree are no contradiction.
    """
    from fleet.store import known

    units = reports["unit"].unique().to_list()
    records = known(store, ["units", "reports"])
    made = records["units"].filter(pl.col("unit").is_in(units))
    earlier = records["reports"].filter(pl.col("unit").is_in(units))
    return [*_before_made(reports, made), *_after_retired(reports, earlier)]


def _before_made(reports: pl.DataFrame, units: pl.DataFrame) -> list[str]:
    made = units.select("unit", "manufactured", "manufactured_earliest", made_by="record")
    early = reports.join(made, on="unit").filter(
        pl.col("date_latest") < pl.col("manufactured_earliest")
    )
    return [
        f"{row['unit']} is reported {row['kind']} on {row['date']}, before it was made "
        f"({row['manufactured']}, record {row['made_by']})"
        for row in early.iter_rows(named=True)
    ]


def _after_retired(reports: pl.DataFrame, earlier: pl.DataFrame) -> list[str]:
    running = pl.col("kind").is_in(["working", "repaired", "recapped", "board_swapped", "failed"])
    side = ["unit", "kind", "date", "date_earliest", "date_latest"]
    new, old = reports.select(side), earlier.select([*side, "record"])
    late = (
        new.filter(running)
        .join(old.filter(pl.col("kind") == "retired"), on="unit")
        .filter(pl.col("date_earliest") > pl.col("date_latest_right"))
    )
    gone = (
        new.filter(pl.col("kind") == "retired")
        .join(old.filter(running), on="unit")
        .filter(pl.col("date_latest") < pl.col("date_earliest_right"))
    )
    return [
        f"{row['unit']} is reported {row['kind']} on {row['date']}, but {row['kind_right']} "
        f"on {row['date_right']} (record {row['record']})"
        for row in pl.concat([late, gone]).unique(maintain_order=True).iter_rows(named=True)
    ]
