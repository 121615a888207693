"""What the due list is asked for."""

from collections.abc import Sequence
from dataclasses import dataclass

import address
import due_new_parts
import policy_choice
import streamlit as st

from fleet.flow.due import Policy, Prior

LEAST = Policy()
_MOST_COST = 1e9


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What the list is asked for."""

    horizon: float
    new_parts: str
    planned: float | None
    failure: float | None
    share: float  # of models without wear-out, in the prior
    estimate: str  # posterior or both: maximum likelihood beside it
    policy: Policy = LEAST


# What is asked for when nobody has changed anything.
USUAL = Choice(
    horizon=2.0,
    new_parts="typical",
    planned=None,
    failure=None,
    share=Prior().no_wear_out_share,
    estimate="posterior",
)


def choose(parts: Sequence[str] = ()) -> Choice:
    """What the reader asks for, kept in the address of the page; `parts`: those of the offers."""
    with st.expander(
        "Horizon, new parts, costs and rule", icon=":material/tune:", key="fold_due_asked"
    ):
        one, two = st.columns(2)
        horizon = one.number_input(
            "Chance of failing within (years)",
            min_value=0.25,
            max_value=30.0,
            step=0.5,
            **address.number("horizon", 0.25, 30.0, USUAL.horizon),
        )
        new_parts = due_new_parts.choose(two, parts)
        planned = one.number_input(
            "Cost of a planned recap, for all models",
            min_value=0.01,
            max_value=_MOST_COST,
            value=None,
            placeholder="as recorded for each model",
            **address.number("planned_cost", 0.01, _MOST_COST, None),
            help="In the currency of the records.",
        )
        failure = two.number_input(
            "Cost of a failure, its recap included, for all models",
            min_value=0.01,
            max_value=_MOST_COST,
            value=None,
            placeholder="as recorded for each model",
            **address.number("failure_cost", 0.01, _MOST_COST, None),
            help="Everything a failure costs: the damage, the time without, the recap after.",
        )
        share = one.number_input(
            "Models that do not wear out, taken before any report (in 100)",
            min_value=0.0,
            max_value=100.0,
            step=5.0,
            **address.number("no_wear_out", 0.0, 100.0, 100.0 * USUAL.share),
            help="Few reports lean on it, many do not; the sentence below the list says how far.",
        )
        policy = policy_choice.choose(one, two, one)
        estimate = two.selectbox(
            "Beside the answer show",
            ["posterior", "both"],
            format_func=lambda v: {
                "posterior": "nothing else",
                "both": "the reports alone (maximum likelihood)",
            }[v],
            disabled=policy.rule != "cost",
            help="The same list without anything held before the reports; with that rule only.",
            **address.choice("estimate", ["posterior", "both"], "posterior"),
        )
    return Choice(
        horizon=float(horizon),
        new_parts=new_parts,
        planned=planned,
        failure=failure,
        share=float(share) / 100.0,
        estimate=str(estimate) if policy.rule == "cost" else USUAL.estimate,
        policy=policy,
    )
