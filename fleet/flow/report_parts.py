"""The parts of the group report: answers turned into sentences and tables of plain text."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

import polars as pl

from fleet.flow.caution import CAUTION
from fleet.flow.changed_due import ADVICE
from fleet.flow.read_aloud import chance_words, fit_words, median_words, number
from fleet.flow.table import Answer

if TYPE_CHECKING:
    from fleet.flow.backtest import LookBack
    from fleet.flow.expected import ExpectedAnswer
    from fleet.flow.order import Order
    from fleet.flow.plan import Plan
    from fleet.flow.suspects import Suspects

MOST_ROWS = 100  # of a table; a printed page is not the place for more
_URGENT = ("recap_now", "measure")


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportTable:
    """A table of texts; `more`: rows left out."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    more: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportPart:
    """One part: its sentences, tables, the name of its picture if it has one, and its notes."""

    title: str
    said: tuple[str, ...] = ()
    tables: tuple[ReportTable, ...] = ()
    picture: str | None = None
    caution: str | None = None
    notes: tuple[str, ...] = ()


def due_part(found: Answer, *, as_of: date) -> ReportPart:
    """Counts by advice, and the machines to be done or measured."""
    counts = dict(found.frame.group_by("action").len().iter_rows())
    each = ", ".join(f"{counts[a]:,} {ADVICE[a]}" for a in ADVICE if counts.get(a))
    said = f"{found.frame.height:,} machines are thought to be working on {as_of}: {each}."
    if found.frame.is_empty():
        said = f"No machine was known to be working on {as_of}."
    urgent = found.frame.filter(pl.col("action").is_in(_URGENT))
    heads = {
        "Unit": lambda r: r["unit"],
        "Model": lambda r: r["model"],
        "What": lambda r: ADVICE.get(r["action"], r["action"]),
        "Due": lambda r: r["due_on"],
        "Fails soon": lambda r: chance_words(r["p_fail"]),
        "Why": lambda r: _first_sentence(r["reason"]),
    }
    return ReportPart(
        title="Due list",
        said=(said, f"Fails soon: the chance to fail within {_horizon(found)} if it works now."),
        tables=_table("Due now, and to be measured first", urgent, heads),
        picture="due",
        caution=CAUTION,
        notes=found.notes,
    )


def expected_part(found: "ExpectedAnswer") -> ReportPart:
    """Failures to come by quarter, all models together."""
    heads = {
        "From": lambda r: r["quarter_from"],
        "To": lambda r: r["quarter_to"],
        "Expected": lambda r: number(r["expected"]),
        "At least": lambda r: number(r["low"]),
        "At most": lambda r: number(r["high"]),
    }
    return ReportPart(
        title="Failures to expect",
        said=found.said,
        tables=_table("All models together, if nothing is done", found.quarters, heads),
        picture="expected",
        notes=found.notes,
    )


def curves_part(points: Answer, fits: Answer) -> ReportPart:
    """How long sets of original parts last, by model."""
    said = []
    for row in fits.frame.sort("failures", descending=True).iter_rows(named=True):
        mine = points.frame.filter(model=row["model"])
        half = "" if mine.is_empty() else f" Read off the curve: {median_words(mine)}."
        said.append(f"{row['model']}: {fit_words(row)}{half}")
    heads = {
        "Model": lambda r: r["model"],
        "Lives": lambda r: number(r["lives"]),
        "Failures": lambda r: number(r["failures"]),
        "Shape": lambda r: _limits(r, "shape"),
        "One in ten failed by (years)": lambda r: _limits(r, "b10"),
    }
    return ReportPart(
        title="How long they last",
        said=tuple(said) or ("There is no life to draw yet.",),
        tables=_table("Weibull fits of original parts, with 95 % limits", fits.frame, heads),
        picture="curves",
        notes=(*points.notes, *(n for n in fits.notes if n not in points.notes)),
    )


def batches_part(found: "Suspects") -> ReportPart:
    """Verdicts on batches."""
    heads = {
        "Batch": lambda r: r["name"],
        "Model": lambda r: r["model"],
        "Parts": lambda r: r["parts"],
        "Lives": lambda r: number(r["lives"]),
        "Failures": lambda r: number(r["failures"]),
        "Times as long": lambda r: _limits(r, "effect"),
        "Verdict": lambda r: r["verdict"],
    }
    return ReportPart(
        title="Batch or design?",
        said=found.words or ("There are no lives to compare.",),
        tables=_table(
            "Batches, the most suspect first; 90 % limits", found.frame.filter(level="batch"), heads
        ),
        notes=tuple(note for note in found.notes if note != CAUTION),
    )


def plan_part(found: "Plan") -> ReportPart:
    """Jobs and hours by month."""
    heads = {
        "Month": lambda r: r["month"],
        "Jobs": lambda r: number(r["jobs"]),
        "Hours": lambda r: number(r["hours"]),
        "Hours free": lambda r: "no limit" if r["hours_free"] is None else number(r["hours_free"]),
        f"Cost{f' ({found.currency})' if found.currency else ''}": lambda r: number(r["cost"]),
    }
    jobs = {
        "Unit": lambda r: r["unit"],
        "Model": lambda r: r["model"],
        "From": lambda r: r["on"],
        "Due": lambda r: r["due_on"],
    }
    busy = found.months.filter(pl.col("jobs") > 0) if found.months.height else found.months
    return ReportPart(
        title="Plan",
        said=found.said or ("No job is planned.",),
        tables=(*_table("Months with jobs", busy, heads), *_table("Jobs", found.jobs, jobs)),
        notes=found.notes,
    )


def order_part(found: "Order") -> ReportPart:
    """What to buy for the first months of the plan."""
    heads = {
        "Part": lambda r: r["part"],
        "How many": lambda r: number(r["quantity"]),
        "Each": lambda r: number(r["unit_price"]),
        "Together": lambda r: f"{r['line_total']:,.2f} {r['currency'] or ''}".strip(),
        "From": lambda r: r["supplier"],
    }
    return ReportPart(
        title="Order",
        said=found.said or ("Nothing is to be ordered.",),
        tables=_table("Parts to buy", found.buy, heads),
        notes=found.notes,
    )


def health_part(found: Answer) -> ReportPart:
    """What in the records hurts the answers most."""
    heads = {
        "": lambda r: str(r["rank"]),
        "What or who": lambda r: r["subject"],
        "Finding": lambda r: r["said"],
        "Machines": lambda r: f"{r['machines']:,}",
        "What to do": lambda r: r["to_do"],
    }
    said = f"{found.frame.height:,} findings, the weightiest first."
    if found.frame.is_empty():
        said = "Nothing was found that hurts the answers."
    return ReportPart(
        title="Data health",
        said=(said,),
        tables=_table("Findings", found.frame, heads),
        notes=tuple(note for note in found.notes if note != CAUTION),
    )


def advice_part(found: "LookBack") -> ReportPart:
    """How well past advice did."""
    return ReportPart(
        title="How well past advice did",
        said=found.said or ("There is too little history to look back on.",),
        notes=found.notes,
    )


def _table(
    caption: str, frame: pl.DataFrame, heads: dict[str, Any], *, most: int = MOST_ROWS
) -> tuple[ReportTable, ...]:
    """The rows as texts; nothing for no row."""
    if frame.is_empty():
        return ()
    rows = tuple(
        tuple(_text(make(row)) for make in heads.values())
        for row in frame.head(most).iter_rows(named=True)
    )
    more = max(0, frame.height - most)
    return (ReportTable(caption=caption, heads=tuple(heads), rows=rows, more=more),)


def _first_sentence(text: str) -> str:
    """As far as the first full stop that ends a sentence: a printed table has room for one."""
    head, stop, _ = text.partition(". ")
    return f"{head}." if stop else text


def _text(value: object) -> str:
    if value is None:
        return ""
    return value.isoformat() if isinstance(value, date) else str(value)


def _limits(row: dict[str, Any], name: str) -> str:
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    if row[name] is None:
        return "no estimate" if low is None else f"at least {number(low)}"
    ends: Sequence[str] = (
        "no lower limit" if low is None else number(low),
        "no upper limit" if high is None else number(high),
    )
    return f"{number(row[name])} ({ends[0]} to {ends[1]})"


def _horizon(found: Answer) -> str:
    years = found.frame["horizon_years"].drop_nulls().unique()
    return f"{number(float(years[0]))} years" if len(years) else "the horizon"
