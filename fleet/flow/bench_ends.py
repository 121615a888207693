"""Which end is which in a place: what the board says, and the marks of the old and the new part."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fleet.capacitors.which_end import which_end
from fleet.flow import bench_words
from fleet.flow.bench_say import plain_sentence

_GROUND = re.compile(r"\b(ground\w*|earth\w*|chassis)\b|\b0 ?V\b", re.IGNORECASE)
_SAID = {
    "positive": re.compile(r"\b(positive|plus)\b|\+", re.IGNORECASE),
    "negative": re.compile(r"\b(negative|minus)\b|[−-](?= ?end)", re.IGNORECASE),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """`board`: sentences on the place; `old`: marks of what it was made for; `polar` false: none.

    `read_off_board`: which end is which must be read there, as the records leave it open.
    """

    polar: bool
    board: tuple[str, ...]
    old: str
    read_off_board: bool


def ends_of(row: Mapping[str, Any]) -> Ends:
    """The ends of a place, from its row of the kind positions."""
    if row["safety_class"]:
        said = (
            f"Safety capacitor of class {row['safety_class']}: no polarity; only a part of that "
            "class goes in (IEC 60384-14)."
        )
        return Ends(polar=False, board=(said,), old="", read_off_board=False)
    note = row["polarity_note"]
    board = [f"On this board: {plain_sentence(note)}"] if note else []
    marks = which_end(row["lead_form"], row["technology"], note)
    if not marks.polar:
        return Ends(
            polar=False, board=(*board, plain_sentence(marks.mark)), old="", read_off_board=False
        )
    notes = "; ".join(text for text in (note, row["notes"]) if text)
    said, sure = _grounding(row["ground_referenced"], row["grounded_end"], notes)
    return Ends(polar=True, board=(*board, said), old=marks.mark, read_off_board=not sure)


def _grounding(tied: bool | None, end: str | None, notes: str) -> tuple[str, bool]:
    """The sentence on ground, and whether it settles which end is which."""
    if tied is not True:
        said = bench_words.NOT_GROUNDED if tied is False else bench_words.GROUND_UNKNOWN
        return said, False
    if not _GROUND.search(notes):
        said = bench_words.GROUNDED.get(end or "", bench_words.GROUNDED_UNSEEN)
        return said, end is not None
    told = [name for name, words in _SAID.items() if words.search(notes)]
    if end is not None and told == [end]:
        return bench_words.GROUNDED[end], True
    if end is None:
        return bench_words.GROUNDED_BY_NOTE, False
    return bench_words.GROUNDED_DISAGREE.format(end=end), False
