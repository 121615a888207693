"""Facts of parts, places and days in the few words a bench sheet has room for."""

import math
from collections.abc import Mapping
from datetime import date
from typing import Any

from fleet.flow.read_aloud import number


def days_between(earliest: date, latest: date) -> str:
    """Two days as a span, shortened where month or year are shared: 11 to 31 December 2006."""
    last = f"{latest.day} {latest:%B %Y}"
    if earliest == latest:
        return last
    if earliest.year != latest.year:
        return f"{earliest.day} {earliest:%B %Y} to {last}"
    if earliest.month != latest.month:
        return f"{earliest.day} {earliest:%B} to {last}"
    return f"{earliest.day} to {last}"


def part_facts(row: Mapping[str, Any]) -> str:
    """The facts of a place or a part in one line, those not recorded left out."""
    said = [
        _capacitance(row),
        _with(row, "voltage", "V"),
        _with(row, "temperature", "°C"),
        " ".join(str(row[name]) for name in ("technology", "lead_form") if row.get(name)),
        _size(row),
        _with(row, "lead_spacing_mm", "mm between leads"),
        _with(row, "esr_ohm", "ohm ESR"),
        _with(row, "ripple_ma", "mA ripple"),
        f"class {row['safety_class']}" if row.get("safety_class") else "",
    ]
    return ", ".join(part for part in said if part)


def part_in_short(row: Mapping[str, Any]) -> str:
    """Value, volts, temperature, form and size: enough to pick the part out of a tray."""
    kept = ("capacitance", "voltage", "temperature", "lead_form", "diameter_mm", "length_mm")
    return part_facts({name: row.get(name) for name in kept})


def plain_number(value: float | None) -> str:
    """A number as it was written down, or nothing."""
    return "" if value is None else f"{value:g}"


def when_said(text: str) -> str:
    """An EDTF date as it was told; an interval within one year, month or day as that alone."""
    start, _, end = text.partition("/")
    return start if start == end else text


def amount(value: float, unit: str) -> str:
    """A quantity with its prefix, three figures: 32 kohm, 0.96 s, 120 µF."""
    steps = ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"))
    size = abs(value)
    # 999.96 rounds to 1000: the next prefix.
    scale, prefix = next(
        ((scale, prefix) for scale, prefix in steps if size >= scale * 0.9995), steps[-1]
    )
    return f"{float(f'{value / scale:.3g}'):g} {prefix}{unit}"


def wait_said(seconds: float) -> str:
    """How long to wait, never less than it is: seconds, or from two minutes on whole minutes."""
    return amount(seconds, "s") if seconds < 120.0 else f"{math.ceil(seconds / 60.0)} min"


def plain_sentence(text: str) -> str:
    """A sentence with a capital and a full stop."""
    text = text.strip()
    return text if not text else f"{text[0].upper()}{text[1:]}{'' if text[-1] in '.!?' else '.'}"


def _capacitance(row: Mapping[str, Any]) -> str:
    from fleet.capacitors.values import read_farads, say_farads

    text = row.get("capacitance")
    if not text:
        return ""
    value = read_farads(text)
    said = text if value is None else say_farads(value)
    spread = str(row.get("tolerance") or "").strip()
    if not spread:
        return said
    # A lone percentage is both ways; `-20/+80 %` and the like say so themselves.
    return f"{said} ±{spread}" if spread[0].isdigit() else f"{said} {spread}"


def _with(row: Mapping[str, Any], name: str, unit: str) -> str:
    value = row.get(name)
    return "" if value is None else f"{number(value)} {unit}"


def _size(row: Mapping[str, Any]) -> str:
    across, along = row.get("diameter_mm"), row.get("length_mm")
    if across is None and along is None:
        return ""
    if across is None or along is None:
        return f"{number(across)} mm across" if across is not None else f"{number(along)} mm long"
    return f"{number(across)} × {number(along)} mm"
