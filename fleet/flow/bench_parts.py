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
_NO_PART_YET = "no part yet"


def parts_by_place(
    records: Mapping[str, pl.DataFrame], positions: pl.DataFrame, model: str, *, as_of: date
) -> dict[str, GoesIn]:
    """What goes into each of `positions` (rows of one model), by position.

    Every position is there: where no part can be named, with what to measure or why. A part that
    is on offer with too old a date code only, and not on the shelf either, is no part yet.
    """
    best = {
        row["position"]: row
        for row in best_part_for(records, model, as_of=as_of).iter_rows(named=True)
    }
    offered = _facts_of_parts(records["offers"])
    usable = _usable(records, as_of)
    out = {}
    for place in positions.iter_rows(named=True):
        row = best.get(place["position"], {})
        part = row.get("part")
        if part is None:
            out[place["position"]] = _without(row)
        elif part not in usable:
            out[place["position"]] = _too_old(row)
        else:
            out[place["position"]] = _goes_in(place, row, offered.get(part, {}))
    return out


def _without(row: Mapping[str, Any]) -> GoesIn:
    measure = tuple(row.get("measure_first") or ())
    told = (text for text in row.get("sentences") or () if text != _NONE)  # the verdict says it
    says = tuple(plain_sentence(text) for text in told)
    return GoesIn(
        part=None,
        facts="",
        in_short="",
        verdict=_MEASURE if measure else _NONE,
        measure_first=measure,
        says=() if measure else says,  # they say the same as what is to be measured
    )


def _too_old(row: Mapping[str, Any]) -> GoesIn:
    part, verdict = row["part"], _VERDICTS[row["verdict"]]
    rest = tuple(plain_sentence(text) for text in row["sentences"][1:])
    return GoesIn(
        part=None,
        facts="",
        in_short="",
        verdict=_NO_PART_YET,
        measure_first=(),
        says=(f"{part} {verdict}, but what is on offer is too old to buy.", *rest),
    )


def _goes_in(place: Mapping[str, Any], row: Mapping[str, Any], facts: Mapping[str, Any]) -> GoesIn:
    part, verdict = row["part"], _VERDICTS[row["verdict"]]
    # The sheet has name and verdict in front already.
    says = tuple(
        plain_sentence(text.removeprefix(f"{part} {verdict}, ")) for text in row["sentences"] or ()
    )
    marks = which_end(facts.get("lead_form"), facts.get("technology"), place["polarity_note"])
    return GoesIn(
        part=part,
        facts=part_facts(facts),
        in_short=part_in_short(facts),
        verdict=verdict,
        measure_first=tuple(row["measure_first"] or ()),
        says=says,
        marks=marks.mark if marks.polar and not facts.get("safety_class") else None,
        esr_ohm=facts.get("esr_ohm"),
    )


def _usable(records: Mapping[str, pl.DataFrame], as_of: date) -> set[str]:
    """Parts of which some are on the shelf or on offer that the shelf advice does not leave out."""
    from fleet.capacitors import shelf_advice

    stock = records["stock"].filter(pl.col("quantity") > 0)
    held = stock.select("part", "date_code", held=pl.lit("stock"))
    offers = records["offers"].select("part", "date_code", held=pl.lit("offer"))
    lots = pl.concat([held, offers]).unique().drop_nulls("part")
    return {
        part
        for part, code, kind in lots.iter_rows()
        if shelf_advice(code, as_of, held=kind).verdict != "leave"
    }


def _facts_of_parts(offers: pl.DataFrame) -> dict[str, Mapping[str, Any]]:
    one = offers.unique("part", keep="first", maintain_order=True)
    return {row["part"]: row for row in one.iter_rows(named=True)}
