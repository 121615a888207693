"""Records that disagree: what a machine's keepers got wrong, so that no life can be read.

Half of the machines drawn are told retired on a day before their last report (of those with two
reports on different days); the others are described a second time, built three years earlier.
"""

import polars as pl

from fleets.world import Rng, Truth
from fleets.written import Records

_YEARS_OFF = 3


def contradict(rng: Rng, truth: Truth, records: Records, fleet: str) -> tuple[Records, set[str]]:
    """The records with contradictions added, and the machines they are about."""
    units = records["units"]
    drawn = units.filter(pl.Series(rng.random(units.height) < truth.kind.contradicts))
    early = pl.Series(rng.random(drawn.height) < 0.5)
    retired = _retired(records["reports"], drawn.filter(early)["unit"], fleet)
    again = drawn.filter(~early).with_columns(
        record=pl.col("record") + "-again",
        content=pl.col("content") + "-again",
        manufactured=pl.col("manufactured_earliest").dt.offset_by(f"-{_YEARS_OFF}y")
        .dt.to_string("%Y"),
    ).with_columns(
        manufactured_earliest=pl.date(pl.col("manufactured").cast(pl.Int32), 1, 1),
        manufactured_latest=pl.date(pl.col("manufactured").cast(pl.Int32), 12, 31),
    )  # fmt: skip
    changed = {
        **records,
        "units": pl.concat([units, again]),
        "reports": pl.concat([records["reports"], retired]),
    }
    return changed, {*retired["unit"], *again["unit"]}


def _retired(reports: pl.DataFrame, units: pl.Series, fleet: str) -> pl.DataFrame:
    """A retirement half way between the first and the last report of each of these machines."""
    mine = reports.filter(pl.col("unit").is_in(units.to_list()))
    ends = mine.group_by("unit", maintain_order=True).agg(
        first=pl.col("date_latest").min(), last=pl.col("date_earliest").max()
    )
    apart = ends.filter((pl.col("last") - pl.col("first")).dt.total_days() >= 2)
    day = pl.col("first") + (pl.col("last") - pl.col("first")) / 2
    template = mine.unique("unit", keep="first", maintain_order=True).join(apart, on="unit")
    return template.with_columns(
        date_earliest=day, date_latest=day, entered_on=day,
        date=day.dt.to_string("%Y-%m-%d"), kind=pl.lit("retired"),
        record=pl.format(f"{fleet}-x{{}}", pl.int_range(pl.len())),
        **{c: pl.lit(None, reports.schema[c]) for c in _OF_FAILURES},
    ).with_columns(content="record").select(reports.columns)  # fmt: skip


_OF_FAILURES = (
    "last_known_working", "last_known_working_earliest", "last_known_working_latest", "cause",
    "positions", "batch", "because", "symptom", "found_dead",
)  # fmt: skip
