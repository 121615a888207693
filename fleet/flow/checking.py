"""What in the data hurts the answers most, counted, each with the one thing that would help."""

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.answers import lives
from fleet.flow.identifiable import set_apart
from fleet.flow.known import known_records
from fleet.flow.table import Answer, Table

_FINDINGS = pl.Schema(
    {"subject": pl.String(), "finding": pl.String(), "count": pl.Int64(), "advice": pl.String()}
)
_SILENT_YEARS = 2
_NAMED = 5

Records = dict[str, pl.DataFrame]
Finding = tuple[str, str, int, str]


def check(store: Path, *, as_of: date) -> Answer:
    """Findings, the weightiest first. Columns: subject, finding, count, advice."""
    table = lives(store, as_of=as_of)
    kinds = ("sources", "models", "batches", "units", "reports")
    records = known_records(store, kinds, as_of=as_of)
    found = [row for look in _LOOKS for row in look(table, records, as_of)]
    frame = pl.DataFrame(found, schema=_FINDINGS, orient="row")
    return Answer(frame=frame, notes=table.notes)


def _failures_alone(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    _, apart = set_apart(table.lives, table, ("model",))
    for model, lives_of in apart.group_by("model"):
        yield (
            str(model[0]),
            "only failures are reported, and not since when they were collected",
            lives_of["unit"].n_unique(),
            "report machines of this model that still work, and fill collecting_since in sources",
        )


def _left_out(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    counted = table.left_out.group_by("reason", maintain_order=True).agg(
        pl.len().alias("count"), pl.col("unit").head(_NAMED)
    )
    for row in counted.sort("count", descending=True).iter_rows(named=True):
        yield (
            _some(row["unit"], row["count"]),
            f"left out of the lives: {row['reason']}",
            row["count"],
            "amend the record named, or add the missing date",
        )


def _silent(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    since = (pl.lit(as_of) - pl.col("last_known_working")).dt.total_days()
    silent = table.working.filter(since.is_null() | (since > _SILENT_YEARS * DAYS_PER_YEAR)).sort(
        "last_known_working", "unit", nulls_last=False
    )
    if not silent.is_empty():
        names = _some(silent["unit"].head(_NAMED).to_list(), silent.height)
        yield (
            names,
            f"not reported working for more than {_SILENT_YEARS} years",
            silent.height,
            f"ask whether these {silent.height} still work: fleet log working UNIT... --on DATE",
        )


def _sources(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    sources = records["sources"]
    unknown = sources.filter(pl.col("collecting_since").is_null())
    for name in unknown["source"]:
        yield (name, "not known since when it collects failures", 1, "ask it; amend its source")
    bare = records["units"].filter(pl.col("source").is_null()).height
    if bare:
        yield ("units", "no source is named", bare, "name who keeps them: sources.csv, source")
    roll = sources.filter(pl.col("keeps_roll_call").not_())
    for name in roll["source"]:
        mine = table.working.filter(pl.col("source") == name).height
        if mine:
            yield (
                name,
                "reports failures, not machines that still work",
                mine,
                "ask it for a roll call once a year",
            )


def _causes(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    failed = records["reports"].filter(pl.col("kind") == "failed")
    unknown = failed.filter(pl.col("cause").is_null() | (pl.col("cause") == "unknown")).height
    if unknown:
        yield (
            "failures",
            f"cause unknown in {unknown} of {failed.height}",
            unknown,
            "see both ends with --unknown-cause capacitor and --unknown-cause other",
        )


def _build_dates(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    blank = records["units"].filter(pl.col("manufactured").is_null())
    if not blank.is_empty():
        yield (
            _some(blank["unit"].head(_NAMED).to_list(), blank.height),
            "no date of manufacture",
            blank.height,
            "a year is enough, even 199X: fleet amend RECORD --set manufactured=1998~",
        )


def _undescribed(table: Table, records: Records, as_of: date) -> Iterator[Finding]:
    for kind, column in (("models", "model"), ("batches", "batch")):
        used = records["units"].filter(pl.col(column).is_not_null())
        if column == "batch":
            used = used.filter(~pl.col("batch").str.contains(":", literal=True))
        unknown = used.join(records[kind], on=column, how="anti")
        for name, rows in unknown.group_by(column, maintain_order=True):
            yield (
                str(name[0]),
                f"no record describes this {column}",
                rows.height,
                f"fleet add {column} {name[0]} ...",
            )
    cheap = records["models"].filter(pl.col("failure_cost") < pl.col("planned_cost"))
    for name in cheap["model"]:
        yield (
            name,
            "a failure is said to cost less than a planned recap",
            1,
            "failure_cost is all a failure costs, its recap included; amend the model",
        )
    costless = records["models"].filter(
        pl.col("planned_cost").is_null() | pl.col("failure_cost").is_null()
    )
    for name in costless["model"]:
        yield (
            name,
            "no costs: no recap can be weighed",
            1,
            "amend the model's planned_cost and failure_cost",
        )


def _some(names: list[str], count: int) -> str:
    shown = ", ".join(names[:_NAMED])
    return shown if count <= _NAMED else f"{shown} and {count - _NAMED} more"


_LOOKS: tuple[Callable[[Table, Records, date], Iterator[Finding]], ...] = (
    _failures_alone,
    _left_out,
    _silent,
    _sources,
    _causes,
    _build_dates,
    _undescribed,
)
