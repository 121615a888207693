"""What stands against a report or a correction that is being entered, so that both can be shown.

Nothing is overwritten in the store; a clash is raised so that somebody decides with both versions
in sight, not so that one is lost.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import polars as pl

from fleet.errors import Conflict
from fleet.flow.contradictions import Contradiction


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """One record as it stands: its kind, its id, who entered it, its columns as typed."""

    kind: str
    record: str
    by: str
    columns: Mapping[str, str]


class Clash(Conflict):
    """`against`: the records that stand against what was entered. `meanwhile`: they were entered
    by somebody else while it was being typed, and need not contradict it.
    """

    def __init__(self, sentence: str, against: Sequence[Told], *, meanwhile: bool) -> None:
        super().__init__(sentence)
        self.against = tuple(against)
        self.meanwhile = meanwhile


def refuse_contradicted(store: Path, found: Sequence[Contradiction]) -> None:
    """Clash where something was found."""
    if not found:
        return
    told = [tell(store, record) for record in dict.fromkeys(one.record for one in found)]
    raise Clash(
        f"{found[0].sentence}; correct the date or the unit, or keep both, flagged, on purpose",
        told,
        meanwhile=False,
    )


def refuse_unseen(
    store: Path, reports: pl.DataFrame, seen: Collection[str], told: pl.DataFrame
) -> None:
    """Clash where the units of `reports` have reports on record (`told`) that are not among `seen`,
    the ids that whoever enters them was shown. The same report entered by both is no clash.
    """
    unseen = _unseen(told, reports["unit"].unique().to_list(), seen)
    unseen = unseen.filter(~pl.col("record").is_in(reports["record"].to_list()))
    if unseen.is_empty():
        return
    rows = list(unseen.select("unit", "kind", "date", "by", "record").iter_rows())
    first = "; ".join(
        f"{unit} was reported {kind} on {date} by {by or 'somebody'} (record {record})"
        for unit, kind, date, by, record in rows[:3]
    )
    more = f", and {len(rows) - 3} more" if len(rows) > 3 else ""
    raise Clash(
        f"while this was typed {first}{more}; see both, then decide",
        [tell(store, record) for *_, record in rows[:3]],
        meanwhile=True,
    )


def _unseen(reports: pl.DataFrame, units: Sequence[str], seen: Collection[str]) -> pl.DataFrame:
    """Those on `units` that are not among `seen`, newest entry last."""
    new = pl.col("unit").is_in(list(units)) & ~pl.col("record").is_in(list(seen))
    return reports.filter(new).sort("entered_on", "record")


def refuse_corrected(store: Path, record: str, row: pl.DataFrame) -> None:
    """Clash where `row`, what `history` says of `record`, was corrected by another record."""
    if row["superseded_by"][0] is None:
        return
    theirs = tell(store, row["superseded_by"][0])
    raise Clash(
        f"{record} was corrected meanwhile by {theirs.by or 'somebody'} (record {theirs.record}); "
        "see both, then correct theirs or leave it",
        [theirs],
        meanwhile=True,
    )


def corrected_by(store: Path, record: str) -> Told | None:
    """The record that corrects another, or None. NotKnown where there is no such record."""
    from fleet.store import find_record

    _, row = find_record(store, record)
    by_record = row["superseded_by"][0]
    return None if by_record is None else tell(store, by_record)


def tell(store: Path, record: str) -> Told:
    """One record of the store as it was typed. NotKnown where there is none."""
    from fleet.records.write import as_text
    from fleet.store import find_record

    kind, row = find_record(store, record)
    columns = as_text(row, kind).row(0, named=True)
    return Told(
        kind=kind,
        record=row["record"][0],
        by=row["by"][0] or "",
        columns={name: text for name, text in columns.items() if text},
    )
