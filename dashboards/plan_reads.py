"""The cached read of the page of plan and order."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import reads
import ready

from fleet.flow.due import Policy
from fleet.flow.plan import Plan, plan


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What a plan is asked for; None: as recorded."""

    months: int
    hours: float | None
    budget: float | None
    lose: str | None
    policy: Policy


@ready.kept("Planning")
def planned(key: reads.Key, as_of: date, wanted: Wanted) -> Plan:
    """Nobody changes it."""
    return plan(
        Path(key[0]),
        as_of=as_of,
        months=wanted.months,
        hours_per_month=wanted.hours,
        budget=wanted.budget,
        lose=wanted.lose,
        policy=wanted.policy,
    )
