"""A plan as a calendar file that any calendar reads (RFC 5545).

Events are whole days without alarm or time zone, marked as not taking up time; the same job keeps
its UID from one writing to the next, so that a calendar moves it instead of showing it twice.
"""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any, Literal
from uuid import UUID, uuid5

import polars as pl

_NAMES = UUID("6f0a2b0e-6d0b-5c52-9d0e-3b1f3f7f5a11")  # of our own events; made once, means nothing
_MOST_NAMED = 40  # machines listed in one event


def calendar_file(
    jobs: pl.DataFrame, work: pl.DataFrame, *, as_of: date, by: Literal["month", "job"] = "month"
) -> bytes:
    """The file's bytes: an event for each model in each month, or for each job.

    `jobs` frames.JOBS; `work` has month, model, on, to, jobs and hours. Its stamp is the as-of
    date, so that the same plan gives the same file.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//recap plan//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    events = _jobs(jobs, work) if by == "job" else _sessions(jobs, work)
    for event in events:
        calendar.add_component(_event(event, as_of))
    return bytes(calendar.to_ical())


def _sessions(jobs: pl.DataFrame, work: pl.DataFrame) -> Iterator[Mapping[str, Any]]:
    """One event a row of `work`, lasting the days of the session."""
    mine = jobs.group_by("window", "model", maintain_order=True).agg("unit")
    rows = work.join(
        mine, left_on=["month", "model"], right_on=["window", "model"], how="left",
        maintain_order="left",
    )  # fmt: skip
    for row in rows.iter_rows(named=True):
        units = row["unit"] or []
        more = len(units) - _MOST_NAMED
        yield {
            "key": f"session {row['month']} {row['model']}",
            "summary": f"Recap {row['jobs']} x {row['model']}",
            "text": f"{row['hours']:g} hours at the bench, getting ready included: "
            + ", ".join(units[:_MOST_NAMED])
            + (f" and {more} more" if more > 0 else ""),
            "first": row["on"],
            "last": row["to"],
        }


def _jobs(jobs: pl.DataFrame, work: pl.DataFrame) -> Iterator[Mapping[str, Any]]:
    """One event a job, on the days of its session."""
    ends = work.select(pl.col("month").alias("window"), "model", "to")
    rows = jobs.join(ends, on=["window", "model"], how="left", maintain_order="left")
    for row in rows.iter_rows(named=True):
        yield {
            "key": f"job {row['unit']}",
            "summary": f"Recap {row['unit']} ({row['model']})",
            "text": f"{row['hours']:g} hours at the bench. {row['reason']}",
            "first": row["on"],
            "last": row["to"] or row["on"],
        }


def _event(event: Mapping[str, Any], as_of: date) -> Any:  # noqa: ANN401 - icalendar's own type
    from icalendar import Event

    made = Event()
    made.add("uid", f"{uuid5(_NAMES, event['key'])}@recap-plan.invalid")
    made.add("dtstamp", datetime(as_of.year, as_of.month, as_of.day, tzinfo=UTC))
    made.add("summary", event["summary"])
    made.add("description", event["text"])
    made.add("dtstart", event["first"])
    made.add("dtend", event["last"] + timedelta(days=1))  # the day after: RFC 5545, 3.6.1
    made.add("transp", "TRANSPARENT")
    return made
