"""The look back day by day, each past day cached: a few of them are shown before all are done."""

from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import reads
import streamlit as st

from fleet.flow.backtest import Asked, LookBack, LookingBack, PastDay, looking_back


@st.cache_resource(max_entries=4, show_spinner="Reading what was known on past days")
def opened(key: reads.Key, as_of: date, asked: Asked) -> LookingBack:
    """Which past days there are, and what it takes to look at one."""
    return looking_back(Path(key[0]), as_of=as_of, asked=asked)


@st.cache_resource(max_entries=64, show_spinner=False)
def past_day(key: reads.Key, as_of: date, asked: Asked, day: date) -> PastDay:
    """One past day."""
    return opened(key, as_of, asked).at(day)


@st.cache_data(max_entries=8, show_spinner=False)
def together(key: reads.Key, as_of: date, asked: Asked, days: tuple[date, ...]) -> LookBack:
    """The answer of these days."""
    seen = [past_day(key, as_of, asked, day) for day in days]
    return opened(key, as_of, asked).together(seen)


def look_at_each(
    key: reads.Key,
    as_of: date,
    asked: Asked,
    days: Sequence[date],
    tell: Callable[[int, date], None],
) -> None:
    """Look at days one after another; `tell` hears how many are done and which comes next."""
    for done, day in enumerate(days):
        tell(done, day)
        past_day(key, as_of, asked, day)
