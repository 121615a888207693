"""The cached read of the page on how recaps turned out."""

from datetime import date
from pathlib import Path

import ready

from fleet.flow.outcomes import Outcomes
from fleet.flow.outcomes import outcomes as turned_out

Key = tuple[str, str]


@ready.kept("Looking at what became of the recaps")
def outcomes(key: Key, as_of: date, early_months: float) -> Outcomes:
    """By model, job and position; nobody changes them."""
    return turned_out(Path(key[0]), as_of=as_of, early_months=early_months)
