"""How what is to be done is drawn: a colour with a filling and an outline for each."""

from collections.abc import Sequence
from typing import Any

import altair as alt
import polars as pl

# What to do, in the order of urgency.
ACTION_WORDS = {
    "recap_now": "recap now",
    "recap_when_due": "recap when due",
    "measure": "measure first",
    "check_in": "ask how it is",
    "leave": "leave alone",
}
COLOURS = ("#D55E00", "#0072B2", "#8A7A00", "#009E73", "#7F7F7F")
# Filled or hollow, with a whole or a broken outline: none is told by its colour alone.
_HOLLOW = {"measure", "check_in", "leave"}
_OUTLINES: tuple[tuple[int, ...], ...] = ((1, 0), (1, 0), (1, 0), (4, 3), (1, 2))
_INSIDE = tuple(
    "transparent" if name in _HOLLOW else colour
    for name, colour in zip(ACTION_WORDS, COLOURS, strict=True)
)
_NUMBERS = tuple(
    colour if name in _HOLLOW else "#FFFFFF"
    for name, colour in zip(ACTION_WORDS, COLOURS, strict=True)
)
_ORDER = {word: i for i, word in enumerate(ACTION_WORDS.values())}


def in_words(action: str = "action") -> pl.Expr:
    """The action of a due list as a person reads it."""
    return pl.col(action).replace(ACTION_WORDS)


def order(words: str = "action") -> pl.Expr:
    """The place of an action, given in words, by its urgency."""
    return pl.col(words).replace_strict(_ORDER, default=len(_ORDER), return_dtype=pl.Int64)


def bars(counts: pl.DataFrame) -> dict[str, Any]:
    """Encodings of bars by `action` (words); only those that occur are in the legend."""
    legend = alt.Legend(
        title=None,
        orient="bottom",
        columns=2,
        labelLimit=260,
        symbolType="square",
        symbolSize=160,
        symbolStrokeWidth=1.5,
    )
    dashes = [list(_OUTLINES[_ORDER[word]]) for word in _words(counts)]
    outlines = alt.Scale(domain=_words(counts), range=dashes)
    return {
        "fill": alt.Fill("action:N", scale=_scale(counts, _INSIDE), legend=legend),
        "stroke": alt.Stroke("action:N", scale=_scale(counts, COLOURS), legend=legend),
        "strokeDash": alt.StrokeDash("action:N", scale=outlines, legend=legend),
        "order": alt.Order("order:Q"),
    }


def numbers(counts: pl.DataFrame) -> dict[str, Any]:
    """Encodings of the numbers on them: white on a filled bar, as its outline on a hollow one."""
    return {
        "color": alt.Color("action:N", scale=_scale(counts, _NUMBERS), legend=None),
        "detail": "action:N",
        "order": alt.Order("order:Q"),
        "text": alt.Text("units:Q"),
    }


def _words(counts: pl.DataFrame) -> list[str]:
    return [word for word in _ORDER if word in set(counts["action"])]


def _scale(counts: pl.DataFrame, colours: Sequence[str]) -> alt.Scale:
    words = _words(counts)
    return alt.Scale(domain=words, range=[colours[_ORDER[word]] for word in words])
