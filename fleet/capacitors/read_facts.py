"""A part described as people do: `1000uF 25V 105C 10x20 radial`."""

import re
from typing import Any

import polars as pl

from fleet.capacitors.facts import kind_of
from fleet.capacitors.tolerance import read_tolerance
from fleet.capacitors.values import read_farads
from fleet.errors import BadInput

_NUMBER = r"(\d+(?:[.,]\d+)?)"
_MM = r"(?:mm)?"
# Column, and the whole word that gives it; the number is group 1.
_NUMBERS: tuple[tuple[str, str, float], ...] = (
    ("voltage", rf"{_NUMBER}\s*(?:v|vdc|wv|volts?|vac|v~)", 1.0),
    ("temperature", rf"\+?{_NUMBER}\s*(?:°\s*c|℃|c|deg\.?c?|degrees)", 1.0),
    ("ripple_ma", rf"{_NUMBER}\s*ma", 1.0),
    ("ripple_ma", rf"{_NUMBER}\s*a", 1000.0),
    ("esr_ohm", rf"{_NUMBER}\s*(?:mohms?|mΩ|mω)", 1e-3),
    ("esr_ohm", rf"{_NUMBER}\s*(?:ohms?|Ω|ω|r)", 1.0),
    ("rated_hours", rf"{_NUMBER}\s*(?:h|hrs?|hours?)", 1.0),
    ("lead_spacing_mm", rf"(?:pitch|spacing|ls|rm)\s*=?\s*{_NUMBER}\s*{_MM}", 1.0),
    ("lead_spacing_mm", rf"{_NUMBER}\s*{_MM}-?(?:pitch|spacing)", 1.0),
)
_BODY = re.compile(rf"(?i)[ø⌀d]?\s*{_NUMBER}\s*{_MM}\s*[x×*]\s*l?{_NUMBER}\s*{_MM}")
_FORMS = {
    "axial": "axial",
    "radial": "radial",
    "snap-in": "snap-in",
    "snapin": "snap-in",
    "snap": "snap-in",
    "smd": "smd",
    "smt": "smd",
    "chip": "smd",
}
_TWO_WAYS = {"np", "bp", "non-polar", "nonpolar", "bipolar", "non-polarised", "non-polarized"}
_SAYS_NOTHING = {"capacitor", "cap", "solid", "wet", "conductive", "low", "esr", "type", "class"}
_SAFETY = re.compile(r"(?i)(?:[xy][1-4])(?:[/,]?[xy][1-4])*")
# Numbers and units that people write apart are one word: "25 V", "10 x 20 mm", "pitch 5".
_JOIN = (
    (r"(?i)(\d)\s*mm\b", r"\1mm"),
    (r"(?i)(\d(?:mm)?)\s+[x×*]\s+(l?\d)", r"\1x\2"),
    (r"(?i)(\d)\s+([munpµμ]?f(?:d|arads?)?\b|mfd\b|[munpµμ]\b)", r"\1\2"),
    (
        r"(?i)(\d)\s+(v~|v|vdc|vac|wv|volts?|°\s?c|℃|c|deg|degrees|ma|a|m?ohms?|mΩ|Ω|h|hrs?|hours?|%)(?=$|[\s,;])",
        r"\1\2",
    ),
    (r"(?i)(\d(?:mm)?)\s+(pitch|spacing)\b(?!\s*=?\s*\d)", r"\1\2"),
    (r"(?i)\b(pitch|spacing|ls|rm)\s*=?\s*(\d)", r"\1\2"),
    (r"\bP\s*=?\s*(\d)", r"P\1"),
    (r"(?i)(\dv)\s+([ad]c)\b", r"\1\2"),
    (r"(?i)([±+-])\s+(\d)", r"\1\2"),
    (r"(?i)\bsnap\s+in\b", "snap-in"),
    (r"(?i)\bnon\s+(polar)", r"non-\1"),
)


def read_facts(text: str) -> dict[str, Any]:
    """Facts by the column names of the record kind offers.

    Reads capacitance, tolerance, voltage, temperature, diameter x length, lead form and spacing,
    technology, safety class, ripple (mA), ESR (ohm), rated hours and `non-polar`. Raises BadInput
    with the word that is not read, and for a fact that is given twice.
    """
    joined = text.strip()
    for pattern, by in _JOIN:
        joined = re.sub(pattern, by, joined)
    facts: dict[str, Any] = {}
    for word in re.split(r"[\s;@]+|,(?!\d)", joined):
        if not word or word.lower() in _SAYS_NOTHING:
            continue
        for column, value in _read_word(word).items():
            if column == "technology" and column in facts:  # "aluminium polymer"
                value = f"{facts.pop(column)} {value}"
            if column in facts and facts[column] != value:
                raise BadInput(
                    f"{text!r} gives the {_plain(column)} twice, {facts[column]} and {value}; "
                    "leave one"
                )
            facts[column] = value
    if "capacitance" not in facts:
        raise BadInput(
            f"{text!r} gives no capacitance; write it with its unit, like "
            "'1000uF 25V 105C 10x20 radial'"
        )
    return facts


def _read_word(word: str) -> dict[str, Any]:
    for read in (_as_word, _as_pitch, _as_value, _as_number):
        facts = read(word)
        if facts:
            return facts
    if re.fullmatch(_NUMBER, word):
        raise BadInput(
            f"{word!r} has no unit; write {word}uF, {word}nF, {word}V, {word}C or the like"
        )
    if re.fullmatch(rf"(?i){_NUMBER}mm", word):
        number = word[:-2]
        raise BadInput(
            f"{word!r} alone may be pitch, diameter or length; write pitch{number} or P{number} "
            "for the pitch, 10x20 for diameter x length"
        )
    raise BadInput(
        f"{word!r} is not read as a fact of a part; known are the likes of 1000uF, 20%, 25V, 105C, "
        "10x20, pitch5, radial, aluminium, X2, 850mA, 0.05ohm, 5000h and non-polar"
    )


def _as_word(word: str) -> dict[str, Any] | None:
    plain = word.lower()
    if plain in _FORMS:
        return {"lead_form": _FORMS[plain]}
    if plain in _TWO_WAYS:
        return {"polarity_note": "non-polar"}
    if _SAFETY.fullmatch(word):
        return {"safety_class": word.upper()}
    return {"technology": word} if _kind(word) else None


def _as_pitch(word: str) -> dict[str, Any] | None:
    """`P15`, as film parts are listed; the small letter is pico."""
    match = re.fullmatch(rf"P{_NUMBER}{_MM}", word)
    return {"lead_spacing_mm": _float(match[1])} if match else None


def _as_value(word: str) -> dict[str, Any] | None:
    if read_farads(word) is not None:
        return {"capacitance": word}
    # A bare number may be anything; a letter alone only one of those that tell a tolerance.
    if re.search(r"[%±+/]|^[jkmqtsz]$", word.lower()) and read_tolerance(word):
        return {"tolerance": word}
    return None


def _as_number(word: str) -> dict[str, Any] | None:
    body = _BODY.fullmatch(word)
    if body:
        return {"diameter_mm": _float(body[1]), "length_mm": _float(body[2])}
    for column, pattern, times in _NUMBERS:
        match = re.fullmatch(pattern, word, flags=re.IGNORECASE)
        if match:
            facts: dict[str, Any] = {column: _float(match[1]) * times}
            return {**facts, **_current(word)} if column == "voltage" else facts
    return None


def _current(word: str) -> dict[str, Any]:
    """Volts of direct or of alternating current, where the word says it."""
    if re.search(r"(?i)v\s*(?:ac|~)$", word):
        return {"current": "ac"}
    return {"current": "dc"} if word.lower().endswith(("vdc", "wv")) else {}


def _float(text: str) -> float:
    return float(text.replace(",", "."))


def _plain(column: str) -> str:
    return column.removesuffix("_mm").removesuffix("_ma").removesuffix("_ohm").replace("_", " ")


def _kind(word: str) -> bool:
    return pl.select(kind_of(pl.lit(word))).item() is not None
