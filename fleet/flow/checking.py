"""What in the data hurts the answers most, measured, each with the one thing that would help."""

from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import polars as pl

from fleet.flow.answers import lives
from fleet.flow.caution import CAUTION
from fleet.flow.check_codes import impossible_codes
from fleet.flow.check_effects import baseline
from fleet.flow.check_finding import Finding, Look
from fleet.flow.check_pooled import not_poolable
from fleet.flow.check_records import build_dates, left_out, undescribed
from fleet.flow.check_reporting import batches_unknown, causes, failures_alone, silent, sources
from fleet.flow.check_twice import told_twice
from fleet.flow.known import known_records
from fleet.flow.pooling import pooling
from fleet.flow.table import Answer

FINDINGS = pl.Schema(
    {
        "rank": pl.Int64(),
        "subject": pl.String(),
        "finding": pl.String(),
        "count": pl.Int64(),
        "effect": pl.Float64(),
        "advice": pl.String(),
        "about": pl.String(),  # which look found it
        "blocks": pl.Boolean(),  # without it there is no answer at all
        "units": pl.List(pl.String()),  # machines concerned, those to begin with first
        "machines": pl.Int64(),  # how many are concerned
        "said": pl.String(),  # the finding without commands
        "to_do": pl.String(),  # the advice without commands
    }
)
_READ = ("sources", "models", "positions", "batches", "units", "reports")


def _nobody(_: str) -> None:
    """Nobody hears how far it is."""


def check(store: Path, *, as_of: date, progress: Callable[[str], None] = _nobody) -> Answer:
    """Findings, the weightiest first, and the one thing to ask for next.

    Columns: FINDINGS; rank 1: settle this first. Effect: by what
    share settling it would move the age by which one in ten of a model has failed, or narrow its
    limits to either side, for the model where that is most. Null: without it there is no answer
    at all (ranked first), or it is not measured (ranked before what hardly changes an answer,
    which comes last). `progress` hears what is done next. METHODS: check-effects
    """
    progress("building the life table")
    table = lives(store, as_of=as_of)
    records = known_records(store, _READ, as_of=as_of)
    progress("testing whether lives may be taken together")
    gate = pooling(table, store, as_of=as_of).frame
    look = Look(base=baseline(table), gate=gate, records=records, store=store, as_of=as_of)
    named = []
    for done, (about, each) in enumerate(_LOOKS.items(), 1):
        progress(f"{done} of {len(_LOOKS)}: {about}")
        named += [(about, f) for f in each(look)]
    named.sort(key=lambda pair: _weight(pair[1]))
    frame = pl.DataFrame(
        [
            (
                i,
                f.subject,
                f.finding,
                f.count,
                f.effect,
                _advice(f),
                about,
                f.blocks,
                [*f.units],
                f.count if f.machines is None else f.machines,
                f.said or f.finding,
                f.to_do,
            )
            for i, (about, f) in enumerate(named, 1)
        ],
        schema=FINDINGS,
        orient="row",
    )
    found = [f for _, f in named]
    first = next((f for f in found if f.ask and not f.negligible), None)
    ask = () if first is None else (f"Ask next ({first.finding}): {first.advice}",)
    caution = (CAUTION,) if any(f.opens for f in found) else ()
    return Answer(frame=frame, notes=(*ask, *caution, *table.notes))


def _advice(finding: Finding) -> str:
    hardly = finding.negligible and finding.ask
    return f"hardly changes the answer; {finding.advice}" if hardly else finding.advice


def _weight(finding: Finding) -> tuple[bool, bool, float, int]:
    """Order: what blocks an answer, then by effect, then what is not measured, by count; last
    what hardly changes anything.
    """
    effect = -1.0 if finding.effect is None else finding.effect
    return (not finding.blocks, finding.negligible, -effect, -finding.count)


_LOOKS: dict[str, Callable[[Look], Iterator[Finding]]] = {
    "failures alone": failures_alone,
    "silence": silent,
    "sources": sources,
    "causes": causes,
    "batches": batches_unknown,
    "told twice": told_twice,
    "left out": left_out,
    "build dates": build_dates,
    "undescribed": undescribed,
    "date codes": impossible_codes,
    "pooling": not_poolable,
}
