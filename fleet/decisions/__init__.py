"""Estimates, ages and costs to what to do with each unit, and when."""

from fleet.decisions.actions import ACTIONS
from fleet.decisions.chance import chance_failed_unseen, chance_within
from fleet.decisions.costs import Costs
from fleet.decisions.due import due_list
from fleet.decisions.due_by_draws import due_by_draws
from fleet.decisions.expected_failures import EXPECTED, Expected, expected_failures
from fleet.decisions.followed_failures import COUNTS, FOLLOWED, followed_failures
from fleet.decisions.long_run_cost import long_run_cost
from fleet.decisions.replace_age import (
    BestAge,
    BestOnce,
    age_replacement_weibull,
    one_time_weibull,
)
from fleet.decisions.replace_age_curve import (
    BestOnCurve,
    age_replacement_curve,
    one_time_curve,
)

__all__ = [
    "ACTIONS",
    "COUNTS",
    "EXPECTED",
    "FOLLOWED",
    "BestAge",
    "BestOnCurve",
    "BestOnce",
    "Costs",
    "Expected",
    "age_replacement_curve",
    "age_replacement_weibull",
    "chance_failed_unseen",
    "chance_within",
    "due_by_draws",
    "due_list",
    "expected_failures",
    "followed_failures",
    "long_run_cost",
    "one_time_curve",
    "one_time_weibull",
]
