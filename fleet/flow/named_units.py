"""Machines named in free text, each by any part of its name or serial number."""

import re
from dataclasses import dataclass

import polars as pl

_SHOWN = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedUnits:
    """The units that were found, in the order named, and a sentence on each name that was not."""

    units: tuple[str, ...]
    unsettled: tuple[str, ...]


def read_units(text: str, machines: pl.DataFrame) -> NamedUnits:
    """Read names parted by commas, semicolons or lines; `machines` has columns unit and serial.

    A whole name or serial number counts before a part of others, capitals and signs aside. A part
    that several machines have is never settled by a guess.
    """
    names = [name.strip() for name in re.split(r"[,;\n]", text) if name.strip()]
    if not names:
        return NamedUnits(units=(), unsettled=())
    bare = machines.select(
        "unit", own=_bare(pl.col("unit")), serial=_bare(pl.col("serial").fill_null(""))
    )
    units: list[str] = []
    unsettled: list[str] = []
    for name in dict.fromkeys(names):
        found = _find(re.sub(r"[\W_]", "", name.lower()), bare)
        if len(found) == 1:
            units += found
        elif found:
            more = ", ..." if len(found) > _SHOWN else ""
            unsettled.append(f"{name} could be {', '.join(found[:_SHOWN])}{more}; write more of it")
        else:
            unsettled.append(f"no machine has {name} in its name or serial number")
    return NamedUnits(units=tuple(dict.fromkeys(units)), unsettled=tuple(unsettled))


def same_number(unit: str, units: pl.Series) -> list[str]:
    """The other units whose names end in the same number: S-045 and U-045 beside Q-045."""
    number = re.search(r"\d+$", unit)
    if not number:
        return []
    same = units.str.extract(r"(\d+)$") == number[0]
    return [name for name in units.filter(same).unique().sort() if name != unit]


def _find(name: str, bare: pl.DataFrame) -> list[str]:
    if not name:
        return []
    whole = bare.filter((pl.col("own") == name) | (pl.col("serial") == name))
    if whole.height:
        return whole["unit"].unique(maintain_order=True).to_list()
    part = pl.any_horizontal(pl.col("own", "serial").str.contains(pl.lit(name), literal=True))
    return bare.filter(part)["unit"].unique(maintain_order=True).to_list()


def _bare(text: pl.Expr) -> pl.Expr:
    """Letters and digits only, as a serial number is typed in many ways."""
    return text.str.to_lowercase().str.replace_all(r"[\W_]", "")
