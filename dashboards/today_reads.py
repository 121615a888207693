"""Cached answers of the page Today."""

from datetime import date
from pathlib import Path

import health_reads
import polars as pl
import reads
import ready
from due_choice import USUAL
from plan_reads import Wanted

from fleet.charts.group_report import draw_report_pictures
from fleet.flow.changed import changed_batches, changed_reports
from fleet.flow.changed_due import due_changes
from fleet.flow.check_ask import Ask, machines_to_ask
from fleet.flow.check_effects import baseline
from fleet.flow.due import Policy
from fleet.flow.group_report import group_report
from fleet.flow.whom_to_ask import not_heard_of, whom_to_ask
from fleet.sheets.group_report import group_report_page

# What the plan asks for when nobody has changed anything there.
USUAL_PLAN = Wanted(months=24, hours=None, budget=None, lose=None, policy=Policy())


def due(key: reads.Key, as_of: date) -> pl.DataFrame:
    """The due list as its own page first shows it."""
    return reads.due(key, as_of, USUAL)[0]


@ready.kept("Looking for new reports")
def new_reports(key: reads.Key, since: date, as_of: date) -> pl.DataFrame:
    """Reports that came in, were corrected or taken back."""
    return changed_reports(Path(key[0]), since=since, as_of=as_of)


@ready.kept("Holding two due lists against each other")
def new_advice(key: reads.Key, since: date, as_of: date) -> pl.DataFrame:
    """What the due list says otherwise now."""
    reports = reads.records(key, "reports")
    known = reports.filter(pl.coalesce("date_latest", "date_earliest").fill_null(as_of) <= as_of)
    return due_changes(due(key, since), due(key, as_of), {"reports": known})


@ready.kept("Holding batches against one another, on both days")
def new_verdicts(key: reads.Key, since: date, as_of: date) -> pl.DataFrame:
    """Batches with another verdict."""
    return changed_batches(Path(key[0]), since=since, as_of=as_of)


@ready.kept("Choosing whom to ask")
def to_ask(key: reads.Key, as_of: date) -> tuple[Ask | None, pl.DataFrame]:
    """Machines to ask after, the best first, and whom (flow.whom_to_ask.ASKED)."""
    table = health_reads.table(key, as_of)
    ask = machines_to_ask(baseline(table), as_of=as_of)
    names = () if ask is None else ask.units
    told = reads.records(key, "reports")
    return ask, whom_to_ask(names, table.working, told, reads.records(key, "units"))


@ready.kept("Counting machines not heard of")
def not_heard_of_count(key: reads.Key, as_of: date) -> int:
    """How many machines nobody has told of for long, on whatever parts."""
    return not_heard_of(health_reads.table(key, as_of).working, as_of=as_of).height


@ready.kept("Gathering the report")
def report(key: reads.Key, as_of: date, quick: bool) -> str:
    """The group report as HTML."""
    found = group_report(Path(key[0]), as_of=as_of, quick=quick)
    pictures = draw_report_pictures(
        due=found.due, curves=found.curves, quarters=found.quarters, as_of=as_of
    )
    return group_report_page(found, pictures)
