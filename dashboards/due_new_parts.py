"""What the parts that will go in are taken to be: a choice of the due page."""

from collections.abc import Sequence
from typing import Any

import address

_WAYS = {
    "typical": "a typical batch of the model",
    "same": "the same as those in now",
    "years": "parts with a life I give",
    "part": "a part of the offers",
}


def choose(column: Any, parts: Sequence[str]) -> str:  # noqa: ANN401 - Streamlit's column
    """What `fleet due --new-parts` takes: typical, same, years, or a part of the offers."""
    ways = [way for way in _WAYS if way != "part" or parts]
    way = column.selectbox(
        "The parts that will go in are",
        ways,
        format_func=lambda v: _WAYS[v],
        help="A bad batch need not be followed by another bad one. A life from a data sheet is an "
        "upper estimate, not a promise.",
        **address.choice("new_parts", ways, "typical"),
    )
    if way == "years":
        years = column.number_input(
            "Typical life of what goes in (years)",
            min_value=0.5,
            max_value=100.0,
            step=1.0,
            **address.number("new_parts_years", 0.5, 100.0, 15.0),
            help="The age by which 63 in 100 sets have failed (the Weibull scale).",
        )
        return f"{years:g}"
    if way == "part":
        return _choose_part(column, parts)
    return str(way)


def _choose_part(column: Any, parts: Sequence[str]) -> str:  # noqa: ANN401 - Streamlit's column
    part = column.selectbox(
        "Part", list(parts), **address.choice("new_part", list(parts), parts[0])
    )
    air = column.number_input(
        "Air beside it while it runs (°C)",
        min_value=-40.0,
        max_value=150.0,
        value=None,
        placeholder="each machine's room",
        step=5.0,
        **address.number("new_part_air", -40.0, 150.0, None),
        help="Inside the case it is warmer than in the room.",
    )
    return str(part) if air is None else f"{part}@{air:g}"
