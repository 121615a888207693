"""Cached answers of the curves page, each for one choice and, where asked, the groups shown.

Each reader is given the same answer, not a copy of all lives at each run: nobody changes one.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl
import reads
import ready
import streamlit as st

from fleet import charts
from fleet.flow import answers
from fleet.flow.chances import chances as chances_of
from fleet.flow.clocks import clocks as clocks_of
from fleet.flow.differences import Differences, differences
from fleet.flow.fit_check import check_fit
from fleet.flow.influences import influences
from fleet.flow.repeated import machine_histories, repeated_failures
from fleet.flow.table import Answer, Settings, Table, in_years
from fleet.flow.weibull_paper import PaperAnswer, paper

_SMALL = 8  # entries kept of each answer
_OF_MACHINES = ("model", "batch")  # what a machine has, whatever sets of capacitors it had


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What a person chose at the head of the page."""

    key: reads.Key
    as_of: date
    by: tuple[str, ...]
    models: tuple[str, ...]  # none: all
    level: float
    settings: Settings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """Curves and fits of all groups; ages in years."""

    points: pl.DataFrame
    fits: pl.DataFrame
    lives: pl.DataFrame
    notes: tuple[str, ...]
    fit_notes: tuple[str, ...]


def curves(choice: Choice) -> Curves:
    """Curves and fits by group."""
    return _curves(choice.key, choice)


@ready.kept("Fitting curves")
def _curves(_key: reads.Key, choice: Choice) -> Curves:
    table, by, settings = _table(choice), choice.by, choice.settings
    survival = answers.survival(table, by=by, level=choice.level, settings=settings)
    fits = answers.weibull(table, by=by, level=choice.level, settings=settings)
    lives, _ = answers.choose_parts(table, by, settings)
    return Curves(
        points=survival.frame,
        fits=fits.frame,
        lives=lives,
        notes=(*survival.notes, *table.notes),
        fit_notes=tuple(n for n in fits.notes if n not in survival.notes),
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Reckoning failure rates")
def rates(choice: Choice, groups: tuple[str, ...]) -> Answer:
    """Failure rate by age of the groups shown."""
    return answers.hazard(
        _shown(choice, groups), by=choice.by, level=choice.level, settings=choice.settings
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Reckoning chances")
def chances(choice: Choice, groups: tuple[str, ...], reach: float, within: float) -> Answer:
    """Chance to reach an age and to fail in the years after it."""
    return chances_of(
        _shown(choice, groups),
        reach=reach,
        within=within,
        by=choice.by,
        level=choice.level,
        settings=choice.settings,
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Drawing failures beside the fit")
def fit_paper(choice: Choice, groups: tuple[str, ...]) -> PaperAnswer:
    """Failures beside the fitted line."""
    return paper(_shown(choice, groups), by=choice.by, level=choice.level, settings=choice.settings)


@st.cache_resource(max_entries=_SMALL, show_spinner="Drawing invented fleets to compare with")
def fit_check(choice: Choice, groups: tuple[str, ...]) -> Answer:
    """Whether the Weibull fits the groups shown, and what else would."""
    return check_fit(
        _shown(choice, groups), by=choice.by, level=choice.level, settings=choice.settings
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Comparing groups")
def alike(choice: Choice, groups: tuple[str, ...]) -> Differences:
    """Whether the groups shown differ."""
    return differences(
        _shown(choice, groups), by=choice.by, level=choice.level, settings=choice.settings
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Looking for what shortens life")
def causes(choice: Choice, columns: tuple[str, ...]) -> Answer:
    """How many times as long lives last for more heat, more use, another batch."""
    return influences(
        _table(choice),
        columns,
        store=Path(choice.key[0]),
        as_of=choice.as_of,
        level=choice.level,
        settings=choice.settings,
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Comparing age with powered hours")
def clocks(choice: Choice) -> Answer:
    """Whether lives follow age, powered hours or a mix."""
    return clocks_of(
        _table(choice),
        store=Path(choice.key[0]),
        as_of=choice.as_of,
        level=choice.level,
        settings=choice.settings,
    )


@st.cache_resource(max_entries=_SMALL, show_spinner="Counting failures of each machine")
def repeated(choice: Choice, by: tuple[str, ...], groups: tuple[str, ...]) -> Answer:
    """Mean number of failures of a machine by its age, by what `machine_groups` says."""
    table = in_years(
        machine_histories(Path(choice.key[0]), as_of=choice.as_of, settings=choice.settings)
    )
    lives = table.lives
    if choice.models:
        lives = lives.filter(pl.col("model").is_in(list(choice.models)))
    lives = lives.with_columns(pl.col(*_OF_MACHINES).fill_null("unknown"))
    if by:
        lives = _only_groups(lives, by, groups)
    found = repeated_failures(replace(table, lives=lives), unit="unit", by=by, level=choice.level)
    return Answer(frame=found.frame, notes=(*found.notes, *table.notes))


def machine_groups(
    choice: Choice, curves: Curves, groups: Sequence[str]
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The columns machines are grouped by and the groups shown: kinds of parts are not theirs."""
    by = tuple(c for c in choice.by if c in _OF_MACHINES)
    shown = _only_groups(curves.lives, choice.by, groups)
    names = charts.name_groups(shown, by)["group"].unique(maintain_order=True).to_list()
    place = {name: i for i, name in enumerate(groups)}
    return by, tuple(sorted(names, key=lambda name: place.get(name, len(place))))


def _table(choice: Choice) -> Table:
    table = reads.lives(choice.key, choice.as_of, choice.settings)
    if not choice.models:
        return table
    return replace(table, lives=table.lives.filter(pl.col("model").is_in(list(choice.models))))


def _shown(choice: Choice, groups: Sequence[str]) -> Table:
    """The table of the groups shown alone."""
    found = curves(choice)
    return replace(_table(choice), lives=_only_groups(found.lives, choice.by, groups))


def _only_groups(lives: pl.DataFrame, by: Sequence[str], groups: Sequence[str]) -> pl.DataFrame:
    if not by:
        return lives
    return charts.name_groups(lives, by).filter(pl.col("group").is_in(list(groups))).drop("group")
