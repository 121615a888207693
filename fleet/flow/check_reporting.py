"""What is not reported: survivors, silence, since when, and why machines failed."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import polars as pl

from fleet.ages import days_expr, years
from fleet.flow.answers import lives
from fleet.flow.check_ask import MOST, SILENT_YEARS, Ask, machines_to_ask
from fleet.flow.check_effects import (
    FURTHEST,
    Effect,
    by_batch,
    chosen_lives,
    fit_models,
    more_failures,
    moved,
)
from fleet.flow.check_finding import NAMED, Finding, Look, effect_of
from fleet.flow.failures_once import failures_once
from fleet.flow.identifiable import set_apart
from fleet.flow.read_aloud import number
from fleet.flow.table import Settings
from fleet.flow.whom_to_ask import not_heard_of

_WORTH_TELLING = 0.9  # share of the width of limits that may be left; our own choice
_NOTICED = 0.01  # a change of an age below this share is not worth a sentence


def failures_alone(look: Look) -> Iterator[Finding]:
    """Models of which only failures are known: their life cannot be told at all."""
    _, apart = set_apart(look.table.lives, look.table, ("model",))
    for (model,), own in apart.sort("model").group_by("model", maintain_order=True):
        yield Finding(
            subject=str(model),
            finding="only failures are reported, and not since when they were collected",
            count=own["unit"].n_unique(),
            advice="report machines of this model that still work, and fill collecting_since in "
            "sources",
            to_do="Report machines of this model that still work, and bring in since when its "
            "failures were collected.",
            blocks=True,
        )


def silent(look: Look) -> Iterator[Finding]:
    """Machines nobody has spoken of for years, and those of them to ask after first."""
    quiet = not_heard_of(look.table.working, as_of=look.as_of).sort(
        "last_known_working", "unit", nulls_last=False
    )
    if quiet.is_empty():
        return
    ask = machines_to_ask(look.base, as_of=look.as_of)
    names = quiet["unit"].to_list() if ask is None else list(ask.units)
    move = _if_all_work(look, quiet)
    yield Finding(
        subject=look.some(quiet["unit"].head(NAMED).to_list(), quiet.height),
        finding=f"not reported working for more than {SILENT_YEARS:g} years",
        count=quiet.height,
        advice=ask_words(names, ask, of=quiet.height) + effect_words(move, ask, quiet.height),
        to_do=f"{_whom(len(names[:MOST]), quiet.height)}, and log each answer"
        f"{narrows_words(ask)}{effect_words(move, ask, quiet.height)}.",
        effect=max(effect_of(move) or 0.0, (ask and ask.effect) or 0.0),
        units=tuple(names[:MOST]),
    )


def effect_words(move: Effect | None, ask: Ask | None, many: int) -> str:
    """What the effect of the finding is made of: the larger of the two that were measured."""
    moves = effect_of(move) or 0.0
    nearer = (ask and ask.effect) or 0.0
    if max(moves, nearer) < _NOTICED:
        return "; their answers hardly help" if many > 1 else "; its answer hardly helps"
    if move is not None and moves >= nearer:
        whose = "it still works" if many == 1 else f"all {many} still work"
        return (
            f"; if {whose}, the age by which one in ten {move.model} has failed moves by "
            f"{number(100 * moves)} %{' or more' if moves > 0.999 * FURTHEST else ''}"
        )
    whose = "it" if many == 1 else f"all {many}"
    model = "" if ask is None or ask.whose is None else f" {ask.whose}"
    return (
        f"; hearing of {whose} brings the limits of the age by which one in ten{model} has failed "
        f"{number(100 * nearer)} % nearer"
    )


def _if_all_work(look: Look, quiet: pl.DataFrame) -> Effect | None:
    """The fits if all of them still work, against those that go by when they were last seen."""
    still = quiet.select(
        "unit", "set_no", now=days_expr(pl.col("started"), pl.lit(look.as_of))
    ).drop_nulls()
    changed = (
        look.table.lives.join(still, on=["unit", "set_no"], how="left", maintain_order="left")
        .with_columns(
            low=pl.when(pl.col("high").is_null() & (pl.col("now") > pl.col("low")))
            .then("now")
            .otherwise("low")
        )
        .drop("now")
    )
    return moved(look.base.fits, fit_models(replace(look.table, lives=changed)))


def ask_words(names: list[str], ask: Ask | None, *, of: int) -> str:
    """What to ask members, to be pasted; `of` so many silent ones."""
    some = names[:MOST]
    if len(some) == of:
        which = "this unit" if of == 1 else f"these {of} units"
    else:
        which = f"{len(some)} of the {of} units first"
    said = (
        f"check in {which}: fleet log working {' '.join(some)} --on DATE, and fleet log failed "
        "for those that do not work"
    )
    return f"{said}{narrows_words(ask)}"


def _whom(some: int, of: int) -> str:
    if of == 1:
        return "Ask whether it still works"
    if some == of:
        return f"Ask whether these {of} still work"
    return f"Ask first whether {some} of these {of} still work"


def narrows_words(ask: Ask | None) -> str:
    """What hearing of the machines named would narrow, where it is worth telling."""
    if ask is None or ask.model is None or ask.low is None or ask.high is None:
        return ""
    if ask.low_then is None or ask.high_then is None:
        return ""
    kept = np.log(ask.high_then / ask.low_then) / np.log(ask.high / ask.low)
    if not kept < _WORTH_TELLING:
        return ""
    now, then = (
        f"{number(years(low))} to {number(years(high))}"
        for low, high in ((ask.low, ask.high), (ask.low_then, ask.high_then))
    )
    return (
        f"; the answers should narrow the age by which one in ten {ask.model} "
        f"has failed from {now} to about {then} years"
    )


def sources(look: Look) -> Iterator[Finding]:
    """Contributors of whom it is not known since when, or that tell of failures only."""
    told, units = look.records["sources"], look.records["units"]
    unknown = told.filter(pl.col("collecting_since").is_null())
    for name, record in unknown.select("source", "record").iter_rows():
        hit = look.table.lives.filter(
            pl.col("known_by").is_not_null() & (pl.col("source") == name)
        ).height
        yield Finding(
            subject=name,
            finding="not known since when it collects failures",
            count=max(hit, 1),
            advice=f"ask it: fleet amend {record} --set collecting_since=YEAR",
            to_do="Ask it since which year, and bring in the list of sources with that year.",
            machines=units.filter(pl.col("source") == name)["unit"].n_unique(),
            effect=effect_of(_if_since_first(look, pl.col("source") == name)),
        )
    bare = units.filter(pl.col("source").is_null()).height
    if bare:
        yield Finding(
            subject="units",
            finding="no source is named",
            count=bare,
            advice="name who keeps them: sources.csv, source",
            to_do="Say who keeps them: bring in the list of machines with its source.",
            effect=effect_of(_if_since_first(look, pl.col("source").is_null())),
        )
    for name in told.filter(pl.col("keeps_roll_call").not_())["source"]:
        mine = look.table.working.filter(pl.col("source") == name).height
        if mine:
            yield Finding(
                subject=name,
                finding="reports failures, not machines that still work",
                count=mine,
                advice="ask it for a roll call once a year",
                to_do="Ask it once a year which of its machines still work, and log each.",
            )


def _if_since_first(look: Look, whose: pl.Expr) -> Effect | None:
    """The fits if collecting had begun only with the first failure told, against those now."""
    ours = pl.col("known_by").is_not_null() & whose.fill_null(value=False)
    days = (
        look.table.lives.with_row_index("_row")
        .filter(ours)
        .select("_row", record=pl.col("reports").str.split(";"))
        .explode("record")
        .join(
            look.records["reports"]
            .filter(pl.col("kind") == "failed")
            .select("record", day="date_latest"),
            on="record",
        )
        .group_by("_row")
        .agg(pl.col("day").max())
    )
    if days.is_empty():
        return None
    start = days["day"].min()
    open_for = days.select("_row", watched=days_expr(pl.lit(start), pl.col("day")))
    late = pl.max_horizontal("entry", pl.col("high") - pl.col("watched") - 1.0)
    changed = (
        look.table.lives.with_row_index("_row")
        .join(open_for, on="_row", how="left", maintain_order="left")
        .with_columns(entry=pl.when(pl.col("watched").is_not_null()).then(late).otherwise("entry"))
        .with_columns(low=pl.max_horizontal("low", "entry"))
        .drop("_row", "watched")
    )
    return moved(look.base.fits, fit_models(replace(look.table, lives=changed)))


def causes(look: Look) -> Iterator[Finding]:
    """Failures nobody said the cause of."""
    failed = failures_once(look.records["reports"], look.table.twice_told)
    unknown = failed.filter(pl.col("cause").is_null())
    if unknown.is_empty():
        return
    ends = [
        fit_models(lives(look.store, as_of=look.as_of, settings=Settings(unknown_cause=how)))
        for how in ("capacitor", "other")
    ]
    sure = unknown.sort("date_latest", "record", descending=[True, False], nulls_last=True)
    latest = ", ".join(sure["record"].head(3))
    yield Finding(
        subject="failures",
        finding=f"cause unknown in {unknown.height} of {failed.height}",
        count=unknown.height,
        advice=f"ask what was found, the latest first ({latest}): fleet amend RECORD --set "
        "cause=CAUSE, where CAUSE is capacitor or other; both ends: fleet check --show causes",
        to_do="Ask what was found, the latest first, and correct each report: a capacitor, or "
        "something else.",
        machines=unknown["unit"].n_unique(),
        effect=effect_of(moved(*ends)),
        units=tuple(sure["unit"].unique(maintain_order=True).head(MOST).to_list()),
    )


def batches_unknown(look: Look) -> Iterator[Finding]:
    """Machines whose batch nobody read off the cans, of models whose batches differ.

    The answer they would help is that of single batches: the effect is on the limits of their B10.
    """
    differ = look.gate.filter(
        (pl.col("question") == "batches") & (pl.col("answer") == "keep apart")
    )["model"]
    original = chosen_lives(look.table).filter(pl.col("model").is_in(differ.implode()))
    known = original.filter(pl.col("batch").is_not_null())
    blank = original.filter(pl.col("batch").is_null()).join(known, on="model", how="semi")
    if blank.is_empty():
        return
    failed = pl.col("count").filter(pl.col("high").is_not_null()).sum().alias("failures")
    more = dict(blank.group_by("model").agg(failed).iter_rows())
    names = blank["unit"].unique(maintain_order=True).to_list()
    yield Finding(
        subject=look.some(names),
        finding="batch of the capacitors unknown, in models whose batches differ",
        count=len(names),
        advice="read series and date code off the cans, only when the machine is open anyway: "
        "fleet amend RECORD --set batch=BATCH",
        to_do="Read series and date code off the capacitors, only when the machine is open anyway, "
        "and correct the batch of the machine.",
        opens=True,
        effect=effect_of(more_failures(by_batch(look.base, known), more)),
        units=tuple(names[:MOST]),
    )
