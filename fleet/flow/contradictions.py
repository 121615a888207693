"""Reports that cannot be true beside what the store already holds about their units."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import polars as pl


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """In a sentence what cannot both be true, and the record that says the other."""

    sentence: str
    kind: str
    record: str


def on_record(store: Path, reports: pl.DataFrame) -> dict[str, pl.DataFrame]:
    """What stands of the units that `reports` are about, and perhaps of others."""
    from fleet.store import known

    units = reports["unit"].unique().to_list()
    only = units[0] if len(units) == 1 else None
    return known(store, ["units", "reports"], unit=only)


def contradictions(
    store: Path, reports: pl.DataFrame, records: Mapping[str, pl.DataFrame] | None = None
) -> list[Contradiction]:
    """One for each report surely before its unit was made, or surely seen working after it was
    retired (or the other way round). Ranges that could agree are no contradiction. `records`: what
    `on_record` gives, where somebody has read it already.
    """
    units = reports["unit"].unique().to_list()
    records = on_record(store, reports) if records is None else records
    made = records["units"].filter(pl.col("unit").is_in(units))
    earlier = records["reports"].filter(pl.col("unit").is_in(units))
    return [*_before_made(reports, made), *_after_retired(reports, earlier)]


def _before_made(reports: pl.DataFrame, units: pl.DataFrame) -> Iterator[Contradiction]:
    made = units.select("unit", "manufactured", "manufactured_earliest", made_by="record")
    early = reports.join(made, on="unit").filter(
        pl.col("date_latest") < pl.col("manufactured_earliest")
    )
    for row in early.iter_rows(named=True):
        yield Contradiction(
            sentence=f"{row['unit']} is reported {row['kind']} on {row['date']}, before it was "
            f"made ({row['manufactured']}, record {row['made_by']})",
            kind="units",
            record=row["made_by"],
        )


def _after_retired(reports: pl.DataFrame, earlier: pl.DataFrame) -> Iterator[Contradiction]:
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
    for row in pl.concat([late, gone]).unique(maintain_order=True).iter_rows(named=True):
        yield Contradiction(
            sentence=f"{row['unit']} is reported {row['kind']} on {row['date']}, but "
            f"{row['kind_right']} on {row['date_right']} (record {row['record']})",
            kind="reports",
            record=row["record"],
        )
