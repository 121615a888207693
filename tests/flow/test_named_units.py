"""Machines named in free text: whole names first, parts where only one has them, no guess."""

import polars as pl
import pytest

from fleet.flow.named_units import read_units

MACHINES = pl.DataFrame(
    {
        "unit": ["U-007", "U-070", "S-007", "S-012", "12"],
        "serial": ["D4194-90", None, "W88 21", None, None],
    }
)


@pytest.mark.parametrize(
    ("text", "units"),
    [
        ("U-007", ["U-007"]),
        ("u007\nS 012", ["U-007", "S-012"]),
        ("070; 4194", ["U-070", "U-007"]),
        ("w8821", ["S-007"]),
        ("12", ["12"]),  # a whole name before a part of another
        ("U-007, u-007", ["U-007"]),
        (" ,;\n", []),
    ],
)
def test_found(text, units):
    told = read_units(text, MACHINES)
    assert list(told.units) == units
    assert told.unsettled == ()


def test_a_part_of_several_names_is_never_settled_by_a_guess():
    told = read_units("007, U-070", MACHINES)
    assert told.units == ("U-070",)
    assert told.unsettled == ("007 could be U-007, S-007; write more of it",)


@pytest.mark.parametrize("name", ["ZZ", "-", "(", "U-0077"])
def test_a_name_nobody_has(name):
    told = read_units(name, MACHINES)
    assert told.units == ()
    assert told.unsettled == (f"no machine has {name} in its name or serial number",)
