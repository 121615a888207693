"""Which rule makes a machine due, as boxes that pages share."""

from typing import Literal, cast

import address
from streamlit.delta_generator import DeltaGenerator

from fleet.flow.due import RULES, Policy

_WORDS = {
    "cost": "at the age that costs least",
    "risk": "when it may soon fail",
    "age": "at a fixed age",
}


def choose(one: DeltaGenerator, two: DeltaGenerator, three: DeltaGenerator) -> Policy:
    """The rule, kept in the address: its box in `one`, its risk in `two`, its age in `three`."""
    rule = one.selectbox(
        "A machine is due",
        RULES,
        format_func=lambda v: _WORDS.get(v, str(v)),
        **address.choice("policy", RULES, RULES[0]),
    )
    risk = two.number_input(
        "Chance of failing within a year that is borne (in 100)",
        min_value=0.1,
        max_value=99.0,
        step=1.0,
        disabled=rule != "risk",
        **address.number("risk", 0.1, 99.0, 10.0),
    )
    age = three.number_input(
        "Fixed age (years)",
        min_value=0.5,
        max_value=100.0,
        step=1.0,
        disabled=rule != "age",
        **address.number("fixed_age", 0.5, 100.0, 10.0),
    )
    return Policy(
        rule=cast("Literal['cost', 'risk', 'age']", rule),
        limit=float(risk) / 100.0,
        age_years=float(age) if rule == "age" else None,
    )
