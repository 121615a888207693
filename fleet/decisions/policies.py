"""Rules that say when the parts of a machine are renewed before they fail. METHODS: policies."""

import math
from dataclasses import dataclass
from typing import Literal

from fleet.errors import BadInput

RULES = ("cost", "risk", "age")


@dataclass(frozen=True, slots=True, kw_only=True)
class Policy:
    """One rule.

    `cost`: at the age that costs least in the long run. `risk`: when the chance of failing within
    `within_years`, given that it works, reaches `limit`. `age`: at `age_years`, whatever is known
    of lives; for comparison. Raises BadInput for what cannot be.
    """

    rule: Literal["cost", "risk", "age"] = "cost"
    limit: float = 0.10
    within_years: float = 1.0
    age_years: float | None = None

    def __post_init__(self) -> None:
        if self.rule not in RULES:
            raise BadInput(f"the policy cannot be {self.rule!r}; choose {', '.join(RULES)}")
        if not 0.0 < self.limit < 1.0:
            raise BadInput(
                f"the risk limit is {self.limit:g}; give a chance between 0 and 1, such as 0.1"
            )
        if not (math.isfinite(self.within_years) and self.within_years > 0.0):
            raise BadInput(
                f"the risk is counted within {self.within_years:g} years; give a number above zero"
            )
        if self.rule == "age" and self.age_years is None:
            raise BadInput("a fixed age needs to be told: give the age in years")
        if self.age_years is not None and not (
            math.isfinite(self.age_years) and self.age_years > 0.0
        ):
            raise BadInput(f"the fixed age is {self.age_years:g} years; give a number above zero")

    @property
    def needs_costs(self) -> bool:
        """Whether the rule asks what a recap and a failure cost."""
        return self.rule == "cost"

    @property
    def needs_estimate(self) -> bool:
        """Whether the rule asks how long parts last."""
        return self.rule != "age"


LEAST_COST = Policy()
