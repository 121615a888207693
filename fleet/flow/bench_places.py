"""The places of a board as the bench needs them: what is there, what goes in, which end it is."""

import re
from collections.abc import Mapping
from datetime import date
from typing import Any

import polars as pl

from fleet.capacitors.charged_to import harmful
from fleet.capacitors.measured import ESR_TIMES
from fleet.flow import bench_words
from fleet.flow.bench_ends import ends_of
from fleet.flow.bench_facts import (
    GoesIn,
    Measured,
    Needed,
    Place,
    Step,
    There,
    WorstCharge,
)
from fleet.flow.bench_say import part_facts, plain_sentence
from fleet.flow.entered_readings import FRESH_TIMES
from fleet.flow.read_aloud import number

_BOXED = ("film", "paper")
_NEEDED = {"capacitance": "capacitance", "voltage": "voltage", "temperature": "temperature"}


def one_each(positions: pl.DataFrame, model: str) -> pl.DataFrame:
    """The positions of a model, one row each, in the order C2, C10."""
    own = positions.filter(model=model).unique("position", keep="last", maintain_order=True)
    order = sorted(range(own.height), key=lambda i: natural(own["position"][i]))
    return own[order]


def natural(name: str) -> list[tuple[int, int, str]]:
    """A key that sorts C2 before C10."""
    return [
        (0, int(part), "") if part.isdigit() else (1, 0, part)
        for part in re.split(r"(\d+)", name)
        if part
    ]


def place(
    row: Mapping[str, Any],
    *,
    there: There | None,
    goes_in: GoesIn | None,
    readings: tuple[Measured, ...],
    elsewhere: str | None,
    steps: tuple[Step, ...],
) -> Place:
    """One place from its row of the kind positions and what was found out about it."""
    ends = ends_of(row)
    fresh = (goes_in.esr_ohm if goes_in else None) or row["esr_ohm"]
    return Place(
        position=row["position"],
        role=row["role"],
        asked=_asked(row),
        notes=_notes(row),
        there=there,
        goes_in=goes_in,
        polar=ends.polar,
        ends=ends.board,
        old_marks=_old_marks(ends.old, there),
        read_off_board=ends.read_off_board,
        harmful=harmful(row),
        sizes_first=tuple(
            word
            for fact in (goes_in.measure_first if goes_in else ())
            for word in (("width", "height") if fact == "diameter" and _boxed(row) else (fact,))
        ),
        sizes=_sizes(row),
        esr_limit=None if row["esr_ohm"] is None else ESR_TIMES * row["esr_ohm"],
        esr_after=None if fresh is None else FRESH_TIMES * fresh,
        readings=readings,
        elsewhere=elsewhere,
        steps=steps,
    )


def hold_at(places: tuple[Place, ...], worst: WorstCharge | None) -> tuple[str, ...]:
    """Places to prove discharged before the board is touched: all that may hurt, else the worst."""
    found = tuple(one.position for one in places if one.harmful)
    if found or worst is None:
        return found
    return tuple(dict.fromkeys((worst.at_volts, worst.at_farads)))


def needed(
    places: tuple[Place, ...], stock: pl.DataFrame, offers: pl.DataFrame, *, as_of: date
) -> tuple[Needed, ...]:
    """The parts to have here before the first old one comes out, with what the shelf has."""
    from fleet.capacitors.shelf import fresh_small_parts

    by_part: dict[str, list[Place]] = {}
    for one in places:
        if one.goes_in is not None and one.goes_in.part is not None:
            by_part.setdefault(one.goes_in.part, []).append(one)
    held = stock.filter((pl.col("quantity") > 0) & pl.col("part").is_in(list(by_part)))
    fresh = fresh_small_parts(offers, as_of)
    counts = dict(held.group_by("part").agg(pl.col("quantity").sum()).iter_rows())
    return tuple(
        Needed(
            part=part,
            facts=found[0].goes_in.facts if found[0].goes_in else "",
            quantity=len(found),
            positions=tuple(one.position for one in found),
            on_shelf=int(counts.get(part) or 0),
            shelf_says=_shelf(held.filter(part=part), as_of, fresh_on_offer=part in fresh),
        )
        for part, found in by_part.items()
    )


def _shelf(lots: pl.DataFrame, as_of: date, *, fresh_on_offer: bool) -> tuple[str, ...]:
    """What the shelf age of each lot asks for; nothing of those that are fine as they are."""
    from fleet.capacitors import shelf_advice

    advice = [
        shelf_advice(code, as_of, fresh_on_offer=fresh_on_offer)
        for code in lots["date_code"].sort()
    ]
    return tuple(plain_sentence(one.sentence) for one in advice if one.verdict != "fine")


def _asked(row: Mapping[str, Any]) -> str:
    missing = [said for name, said in _NEEDED.items() if not row[name]]
    facts = part_facts(row)
    if not missing:
        return facts
    gap = f"{' and '.join(missing)} not recorded"
    return f"{facts}; {gap}" if facts else gap


def _notes(row: Mapping[str, Any]) -> tuple[str, ...]:
    room = [
        f"{number(row['clearance_mm'])} mm free round it"
        if row["clearance_mm"] is not None
        else "",
        f"{number(row['headroom_mm'])} mm from the board to the cover"
        if row["headroom_mm"] is not None
        else "",
    ]
    room_said = ", ".join(part for part in room if part)
    return tuple(plain_sentence(text) for text in (row["notes"] or "", room_said) if text)


def _old_marks(marks: str, there: There | None) -> tuple[str, ...]:
    later = bool(there and there.replaced)
    return (*((marks,) if marks else ()), *((bench_words.FITTED_LATER,) if later else ()))


def _boxed(row: Mapping[str, Any]) -> bool:
    kind = (row["technology"] or "").lower()
    return bool(row["safety_class"]) or any(word in kind for word in _BOXED)


def _sizes(row: Mapping[str, Any]) -> tuple[str, ...]:
    """Sizes to be read off the part: boxes have a width and a height, cans a diameter."""
    round_or_not = ("width", "height") if _boxed(row) else ("diameter",)
    across = round_or_not if row["diameter_mm"] is None else ()
    along = ("length",) if row["length_mm"] is None else ()
    apart = ("lead spacing",) if row["lead_spacing_mm"] is None else ()
    return (*across, *along, *apart)
