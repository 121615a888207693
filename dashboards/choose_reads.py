"""Cached reads of the page that weighs what to do with one machine."""

from datetime import date
from pathlib import Path

import polars as pl
import reads
import ready

from fleet.flow.choose import Asked, Choice, Known, Told, choose, known_of
from fleet.flow.policies import Asked as RulesAsked
from fleet.flow.policies import policies, years_of


@ready.kept("Learning from the records how long parts last")
def known(key: reads.Key, as_of: date) -> Known:
    """What the store knows on a day; never changed by those who read it."""
    return known_of(Path(key[0]), as_of=as_of)


@ready.kept("Reckoning what each way of going on costs", long="about half a minute")
def choice(key: reads.Key, as_of: date, unit: str, asked: Asked, told: Told) -> Choice:
    """The options of one machine."""
    return choose(known(key, as_of), unit, asked=asked, told=told)


@ready.kept("Reckoning what each rule costs")
def rules(key: reads.Key, as_of: date) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """What each rule costs, model by model, ages in years; and the sentences with it."""
    answer = policies(Path(key[0]), as_of=as_of, asked=RulesAsked())
    return years_of(answer.frame), answer.notes
