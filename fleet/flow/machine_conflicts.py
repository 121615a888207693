"""Records about one machine that cannot all be true, side by side, and how to settle them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import polars as pl

_KINDS = ("reports", "units", "models", "batches")
_HIDDEN = ("record", "supersedes")
_ADVICE = {
    "contradicts": "Ask whoever told it, then correct the one that is wrong, or take it back.",
    "told twice": "If it was one event, put both on one day. If it was two, leave them.",
}


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Disagreement:
    """`what`: contradicts (the machine has no lives until settled) or told twice (perhaps one
    event). `records`: ids of both versions; `versions`: field, differs, and a column for each
    record with what it says. `commands`: those that would settle it.
    """

    what: str
    reason: str
    records: tuple[str, ...]
    versions: pl.DataFrame
    advice: str
    commands: str


def disagreements(
    disagree: pl.DataFrame, twice: pl.DataFrame, known: Mapping[str, pl.DataFrame]
) -> tuple[Disagreement, ...]:
    """Each contradiction (unit, reason, reports) and pair (lives.TWICE_TOLD) of a unit.

    `known`: its rows and those of models and batches as they stand.
    """
    found = [
        _one("contradicts", reason, ids.split(";"), known)
        for reason, ids in disagree.select("reason", "reports").iter_rows()
    ]
    pairs = twice.select("what", "first", "second", "days_apart", "counted_once", "why")
    for what, first, second, apart, once, why in pairs.iter_rows():
        days = "the same day" if apart == 0 else f"{apart} day{'s' if apart != 1 else ''} apart"
        counted = "counted once" if once else "counted as two"
        reason = f"perhaps one {what} told twice, {days}; {counted}: {why}"
        found.append(_one("told twice", reason, [first, second], known))
    return tuple(found)


def flags(found: Sequence[Disagreement]) -> dict[str, str]:
    """Record to what is wrong with it; a contradiction outweighs being told twice."""
    out: dict[str, str] = {}
    for one in sorted(found, key=lambda d: d.what, reverse=True):
        out |= dict.fromkeys(one.records, one.what)
    return out


def _one(
    what: str, reason: str, ids: Sequence[str], known: Mapping[str, pl.DataFrame]
) -> Disagreement:
    records = tuple(dict.fromkeys(ids))
    told = [(record, _text_of(record, known)) for record in records]
    return Disagreement(
        what=what,
        reason=reason,
        records=records,
        versions=_side_by_side(told),
        advice=_ADVICE[what],
        commands=_commands(what, records, known),
    )


def _commands(what: str, records: Sequence[str], known: Mapping[str, pl.DataFrame]) -> str:
    date = known["reports"].filter(pl.col("record") == records[0])["date"]
    if what == "told twice" and len(date):
        return f"fleet amend {records[-1]} --set date={date[0]}"
    return " or ".join(f"fleet amend {record} --set COLUMN=VALUE" for record in records)


def _text_of(record: str, known: Mapping[str, pl.DataFrame]) -> dict[str, str]:
    from fleet.records.write import as_text

    for kind in _KINDS:
        row = known[kind].filter(pl.col("record") == record) if kind in known else None
        if row is not None and row.height:
            text = as_text(row.head(1), kind).row(0, named=True)
            said = {name: value for name, value in text.items() if value is not None}
            return {"a record of": kind, **said}
    return {}


def _side_by_side(told: Sequence[tuple[str, Mapping[str, str]]]) -> pl.DataFrame:
    fields = list(dict.fromkeys(name for _, text in told for name in text))
    fields = [name for name in fields if name not in _HIDDEN]
    versions = {record: [text.get(name) for name in fields] for record, text in told}
    differs = [len(set(values)) > 1 for values in zip(*versions.values(), strict=True)]
    return pl.DataFrame(
        {"field": fields, "differs": differs, **versions},
        schema={"field": pl.String, "differs": pl.Boolean, **dict.fromkeys(versions, pl.String)},
    )


def listed(found: Sequence[Disagreement]) -> pl.DataFrame:
    """Disagreements as a table: what, reason, records (ids joined by ;), advice,
    commands.
    """
    rows = [
        (one.what, one.reason, ";".join(one.records), one.advice, one.commands) for one in found
    ]
    columns = ("what", "reason", "records", "advice", "commands")
    return pl.DataFrame(rows, schema=dict.fromkeys(columns, pl.String), orient="row")
