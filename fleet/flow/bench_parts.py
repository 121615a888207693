"""Which part goes into each place of a board, in words for the bench."""

from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from fleet.capacitors.which_end import which_end
from fleet.flow.bench_facts import GoesIn
from fleet.flow.bench_say import part_facts, part_in_short, plain_sentence
from fleet.flow.best_part import best_part_for

_VERDICTS = {"fits": "fits", "fits_with_care": "fits with care"}
_MEASURE = "measure before ordering"
_NONE = "no part on offer fits"


def parts_by_place(
    records: Mapping[str, pl.DataFrame], positions: pl.DataFrame, model: str, *, as_of: date
) -> dict[str, GoesIn]:
    """What goes into each of `positions` (rows of one model), by position.

    Every position is there: where no part can be named, with what to measure or why.
    """
    best = {
        row["position"]: row
        for row in best_part_for(records, model, as_of=as_of).iter_rows(named=True)
    }
    offered = _facts_of_parts(records["offers"])
    out = {}
    for place in positions.iter_rows(named=True):
        row = best.get(place["position"], {})
        part = row.get("part")
        out[place["position"]] = _goes_in(place, row, offered.get(part or "", {}))
    return out


def _goes_in(place: Mapping[str, Any], row: Mapping[str, Any], facts: Mapping[str, Any]) -> GoesIn:
    part = row.get("part")
    measure = tuple(row.get("measure_first") or ())
    says = tuple(plain_sentence(text) for text in row.get("sentences") or ())
    if part is None:
        return GoesIn(
            part=None,
            facts="",
            in_short="",
            verdict=_MEASURE if measure else _NONE,
            measure_first=measure,
            says=() if measure else says,  # they say the same as what is to be measured
        )
    verdict = _VERDICTS[row["verdict"]]
    # The sheet has name and verdict in front already.
    says = tuple(plain_sentence(text.removeprefix(f"{part} {verdict}, ")) for text in says)
    return GoesIn(
        part=part,
        facts=part_facts(facts),
        in_short=part_in_short(facts),
        verdict=verdict,
        measure_first=measure,
        says=(*says, *_other_mark(place, facts)),
    )


def _other_mark(place: Mapping[str, Any], part: Mapping[str, Any]) -> tuple[str, ...]:
    """How the new part shows its ends, where it shows them in another way than the old one."""
    if not part:
        return ()
    old = which_end(place["lead_form"], place["technology"], place["polarity_note"])
    new = which_end(part["lead_form"], part["technology"], part.get("polarity_note"))
    return () if new.mark == old.mark else (f"On the new part: {new.mark}",)


def _facts_of_parts(offers: pl.DataFrame) -> dict[str, Mapping[str, Any]]:
    one = offers.unique("part", keep="first", maintain_order=True)
    return {row["part"]: row for row in one.iter_rows(named=True)}
