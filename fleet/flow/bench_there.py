"""What stands in each place of one unit now: the batch, since when, and what its code can mean."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import polars as pl

from fleet.capacitors import date_code_candidates
from fleet.flow.bench_facts import There
from fleet.flow.bench_say import days_between, when_said

_REPLACING = ("recapped", "board_swapped")
_MOST = 4  # readings of one date code that are printed
# Parts lie on a shelf before they are fitted; datasheets speak of about two years, and a board may
# be a while in making too. Our own rule.
_BEFORE_THE_MACHINE = timedelta(days=4 * 365)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Held:
    """What a report says of a place: since when, the batch as written there, and between which
    days its date code may lie.
    """

    since: str
    batches: str | None
    earliest: date | None
    latest: date
    replaced: bool


def in_places(
    unit: Mapping[str, Any],
    model: Mapping[str, Any],
    reports: pl.DataFrame,
    batches: pl.DataFrame,
    positions: Sequence[str],
    *,
    as_of: date,
) -> dict[str, There]:
    """What stands in each of `positions`, from the factory's batch and the unit's `reports`.

    `unit` and `model` are rows of their kinds as mappings; of a model nobody recorded an empty one.
    """
    built = unit.get("manufactured")
    first, last = _build_days(unit, model, as_of)
    new = _Held(
        since=f"from new{f' ({when_said(built)})' if built else ''}",
        batches=unit.get("batch"),
        earliest=first,
        latest=last,
        replaced=False,
    )
    held = dict.fromkeys(positions, new)
    fitted = reports.filter(pl.col("kind").is_in(_REPLACING)).sort(
        "date_latest", "date_earliest", "record"
    )
    for row in fitted.iter_rows(named=True):
        whole = row["kind"] == "board_swapped"
        fit = _Held(
            since=f"{'board swapped' if whole else 'fitted'} {row['date']}",
            batches=row["batch"],
            earliest=None,
            latest=row["date_latest"] or as_of,
            replaced=True,
        )
        held |= dict.fromkeys(positions if whole else _named(row["positions"], positions), fit)
    codes = {row["batch"]: row for row in batches.iter_rows(named=True)}
    return {position: _there(one, position, codes) for position, one in held.items()}


def batch_at(text: str | None, position: str) -> str | None:
    """The batch that `B7` or `C1:B7;C4:B9` names for a position; None where it names none."""
    pairs = [part.strip().partition(":") for part in (text or "").split(";") if part.strip()]
    several = {name.strip(): batch.strip() for name, colon, batch in pairs if colon}
    if several:
        return several.get(position) or None
    return pairs[0][0].strip() if pairs else None


def _named(text: str | None, positions: Sequence[str]) -> list[str]:
    names = {name.strip() for name in (text or "").split(";") if name.strip()}
    if not names or "all" in {name.lower() for name in names}:
        return list(positions)
    return [position for position in positions if position in names]


def _build_days(
    unit: Mapping[str, Any], model: Mapping[str, Any], as_of: date
) -> tuple[date | None, date]:
    earliest = unit.get("manufactured_earliest") or model.get("first_made_earliest")
    latest = unit.get("manufactured_latest") or model.get("last_made_latest") or as_of
    return (earliest - _BEFORE_THE_MACHINE if earliest else None), min(latest, as_of)


def _there(held: _Held, position: str, codes: Mapping[str, Mapping[str, Any]]) -> There:
    batch = batch_at(held.batches, position)
    known = codes.get(batch or "", {})
    return There(
        batch=batch,
        since=held.since,
        replaced=held.replaced,
        made=(*_look(known), *_made(known.get("date_code"), held.earliest, held.latest)),
    )


def _look(batch: Mapping[str, Any]) -> tuple[str, ...]:
    """Colour and series as printed: what to look for on the sleeve."""
    said = [
        f"{batch['sleeve_colour']} sleeve" if batch.get("sleeve_colour") else "",
        f"series {batch['series']}" if batch.get("series") else "",
    ]
    text = ", ".join(part for part in said if part)
    return (text,) if text else ()


def _made(code: str | None, earliest: date | None, latest: date) -> tuple[str, ...]:
    if not code:
        return ()
    found = date_code_candidates(code, not_before=earliest, not_after=latest)
    if not found:
        every = date_code_candidates(code, not_after=latest)
        if not every:
            return (f"code {code}: no date that could be is read from it",)
        found, wonder = every, "; none fits when the machine was built: read it again"
    else:
        wonder = ""
    said = [f"{days_between(c.earliest, c.latest)} ({c.scheme})" for c in found[:_MOST]]
    more = f", or {len(found) - _MOST} more" if len(found) > _MOST else ""
    return (f"code {code} can mean {' or '.join(said)}{more}{wonder}",)
