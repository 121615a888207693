"""Records known on a date to the life table: the nine rules, one after another.

METHODS: lives
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

import polars as pl

from fleet.frames import LEFT_OUT, LIVES
from fleet.lives.build_dates import narrow_builds
from fleet.lives.causes import UnknownCause, find_failures, share_causes
from fleet.lives.contradictions import find_contradictions
from fleet.lives.ends import Ends, failed_rows, time_failures, unfailed_rows
from fleet.lives.enrolment import find_observed, settle_enrolment
from fleet.lives.history import narrow_reports, order_events, place_reports
from fleet.lives.inputs import Known, know
from fleet.lives.notes import NO_BUILD, NO_ENROLMENT, write_notes
from fleet.lives.observed import add_sources, first_watched, watched_sets
from fleet.lives.positions import NO_POSITIONS, only_named, split_positions
from fleet.lives.runs import first_rows
from fleet.lives.sets import find_sets
from fleet.lives.table import LifeTable
from fleet.lives.twice_told import TWICE_TOLD, settle_twice_told
from fleet.lives.working import running_units


def build_lives(
    records: Mapping[str, pl.DataFrame],
    *,
    as_of: date,
    unknown_cause: UnknownCause = "share",
    degraded_as: Literal["censored", "failed"] = "censored",
    by_position: bool = False,
    where_named: bool = False,
) -> LifeTable:
    """Build the life table from what was known on a date.

    Parameters
    ----------
    records
        Frames as `known_schema` says for sources, models, positions, batches, units and reports;
        a kind that is missing is empty. What was dated or entered after `as_of` is not looked at.
    as_of
        The date.
    unknown_cause
        `share` splits a failure of unknown cause between failure and no failure; `capacitor` and
        `other` take all of them as the one or the other.
    degraded_as
        Whether a recap because of a reading, of a machine that still worked, is a failure.
    by_position
        One life for each position instead of one for each board; `working` stays by unit.
    where_named
        With `by_position`: only of units of which a report or a batch names a position. Of all
        others every position was watched as its board was, and no failure is told of one of them.

    Returns
    -------
    LifeTable, ages in days.

    Raises
    ------
    BadFrame
        If a frame is not as `known_schema` says.
    """
    known = know(records, as_of)
    found = settle_units(known, as_of)
    settled, units, placed = found.settled, found.units, found.placed

    degraded = degraded_as == "failed"
    board = follow_units(units, placed, known.batches, degraded=degraded)
    shares = share_causes(board.failures, units, unknown_cause)
    working = running_units(units, board.sets, _recode(board.failures, unknown_cause))
    story, positionless = board, units.clear()
    if by_position:
        if where_named:
            units, placed = only_named(units, placed)
        units, placed, positionless = split_positions(units, placed, known.positions)
        story = follow_units(units, placed, known.batches, degraded=degraded)
    ends, history = _lives(story, units, shares, unknown_cause)
    lives = (
        # Units are numbered in the order of their names, positions of a unit within it.
        ends.rows.sort("idx", "set_no", "low", "entry", "end").select(list(LIVES)).cast(LIVES)
    )
    left_out = _left_out(
        found.disagree,
        settled.filter(pl.col("enrolled").is_null()).with_columns(reason=pl.lit(NO_ENROLMENT)),
        positionless.with_columns(reason=pl.lit(NO_POSITIONS)),
        ends.left_out,
    )
    return LifeTable(
        lives=lives,
        working=working,
        left_out=left_out,
        shares=shares,
        notes=write_notes(
            lives, left_out, working, settled, strangers=known.strangers, history=history,
            twice=found.twice_told.filter("counted_once").height,
        ),
        twice_told=found.twice_told,
    )  # fmt: skip


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Settled:
    """Units whose records agree, and their reports in order.

    `settled`: all of them with the day each came to be known; `units`: those where that is told;
    `placed`: the reports of these; `disagree`: units kept out, with the reason; `twice_told`:
    reports of one event by two people.
    """

    disagree: pl.DataFrame
    settled: pl.DataFrame
    units: pl.DataFrame
    placed: pl.DataFrame
    twice_told: pl.DataFrame


def settle_units(known: Known, as_of: date) -> _Settled:
    """Units and reports that lives can be read from."""
    all_units = add_sources(narrow_builds(known), known.sources, as_of)
    disagree = find_contradictions(all_units, known.reports, known.batches)
    sound = (
        first_rows(all_units, "idx")
        .join(disagree.select("idx"), on="idx", how="anti", maintain_order="left")
        .with_columns(position=pl.lit(None, pl.String))
    )
    told = known.reports.join(sound.select("idx"), on="idx", how="semi", maintain_order="left")
    told, twice = settle_twice_told(narrow_reports(told, sound), sound)
    placed = place_reports(told)
    settled = settle_enrolment(sound, placed)
    units = settled.filter(pl.col("enrolled").is_not_null())
    placed = placed.join(units.select("idx"), on="idx", how="semi", maintain_order="left")
    return _Settled(
        disagree=disagree,
        settled=settled,
        units=units,
        placed=placed,
        twice_told=twice.join(sound.select("idx", "unit"), on="idx")
        .sort("unit", "first", "second")
        .select(list(TWICE_TOLD))
        .cast(TWICE_TOLD),
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Story:
    """What happened to each unit: its sets and their failures."""

    enrolled: pl.DataFrame  # units enrolled working: idx, working_set
    sets: pl.DataFrame
    failures: pl.DataFrame


def follow_units(
    units: pl.DataFrame, placed: pl.DataFrame, batches: pl.DataFrame, *, degraded: bool
) -> _Story:
    """Sets and failures of units, from their reports in order."""
    working = units.filter(pl.col("because") == "working").select("idx", "enrolled")
    events = order_events(placed, working, degraded=degraded)
    return _Story(
        enrolled=events.filter(pl.col("kind") == "enrolled").select("idx", working_set="set_no"),
        sets=find_sets(events, units, batches),
        failures=find_failures(events),
    )


def _recode(failures: pl.DataFrame, unknown_cause: UnknownCause) -> pl.DataFrame:
    if unknown_cause == "share":
        return failures
    return failures.with_columns(pl.col("cause").replace("unknown", unknown_cause))


def _lives(
    story: _Story, units: pl.DataFrame, shares: pl.DataFrame, unknown_cause: UnknownCause
) -> tuple[Ends, int]:
    """Rows and what is left out, and how many sets ended before their unit was known."""
    found = find_observed(units, story.failures)
    known = first_watched(units, story.sets, story.enrolled, found)
    timed = time_failures(
        _recode(story.failures, unknown_cause).join(
            units.select("idx", "model"), on="idx", maintain_order="left"
        ),
        shares,
    )
    sets = watched_sets(known, story.sets, timed)
    undated = sets.filter(pl.col("sm").is_null()).with_columns(reason=pl.lit(NO_BUILD))
    dated = sets.filter(pl.col("sm").is_not_null())
    failed = failed_rows(_with_sets(timed, dated))
    unfailed = unfailed_rows(dated)
    first = pl.when(pl.col("set_no") == pl.col("first_set")).then("enrolled_because")
    rows = [
        e.rows.with_columns(enrolled_because=first).select("idx", *LIVES)
        for e in (failed, unfailed)
    ]
    out = [frame.select(list(LEFT_OUT)) for frame in (undated, failed.left_out, unfailed.left_out)]
    return (
        Ends(rows=pl.concat(rows), left_out=pl.concat(out)),
        story.sets.height - sets.height,
    )


def _with_sets(failures: pl.DataFrame, sets: pl.DataFrame) -> pl.DataFrame:
    mine = failures.select(
        "gid", "ep", "e", "l", "dead", "implied", "cause", "low_day", "in_use", "weight"
    )
    return mine.join(
        sets.drop("left", "last_low_day", "worked_again"), on="gid", how="inner",
        maintain_order="left",
    )  # fmt: skip


def _left_out(*frames: pl.DataFrame) -> pl.DataFrame:
    cast = dict(LEFT_OUT)
    parts = [
        frame.with_columns(
            pl.lit(None, cast[c]).alias(c) for c in cast if c not in frame.columns
        ).select(pl.col(c).cast(dtype) for c, dtype in cast.items())
        for frame in frames
    ]
    # By position several positions of a set may be left out for one reason: said once.
    return pl.concat(parts).unique().sort("unit", "set_no", "reason", "reports", nulls_last=True)
