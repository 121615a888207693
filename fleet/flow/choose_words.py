"""Options of one machine in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

import polars as pl

from fleet.ages import days
from fleet.decisions.keep_or_replace import Machine, Prices

if TYPE_CHECKING:
    from fleet.flow.bench_costs import Given
    from fleet.flow.choose import Asked, Chances
    from fleet.flow.choose_machine import Found, Standing
    from fleet.flow.replacement_prices import Offered
    from fleet.flow.table import Table

NAMES = {
    "recap_now": "recap it now",
    "recap_when_due": "recap it when it is due",
    "recap_when_it_fails": "recap it when it fails",
    "leave": "leave it, and let it go when it fails",
    "used": "buy a used one as it is",
    "used_recapped": "buy a used one and recap it at once",
    "new": "buy a new one",
    "board": "swap the board",
    "retire": "retire it now",
}
_PRICED = {
    "planned": "a planned recap",
    "failure": "a failure",
    "used": "a used machine",
    "new": "a new machine",
    "board": "a board swap",
}


def money(value: float, currency: str | None) -> str:
    """23 XTS, or 7.4 without a currency."""
    number = f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"
    return f"{number} {currency}" if currency else number


def due_said(age: float, reason: str) -> str:
    """What the due list says of a machine whose parts are `age` years old: its date, not the rest
    of its reason, of which the options speak themselves.
    """
    first = reason.split(". ", 1)[0].rstrip(".")
    if "its parts are" in first.partition(" and ")[2]:  # how old they are now
        return f"The due list says: {first}"
    return f"Its parts are {age:.3g} years old; the due list says: {first}"


def differs_said(frame: pl.DataFrame, lives: Machine, standing: Standing) -> Iterator[str]:
    """Where the due list says otherwise, and that is not said before."""
    best = frame.drop_nulls("rank").sort("rank")["option"].first()
    if standing.too_few or standing.action == "check_in":
        return
    if lives.own is not None and (best == "recap_now") != (lives.due_in == 0):
        yield (
            "The due list says otherwise: it counts neither that a failure may put the machine "
            "beyond repair or a recap may not succeed, nor what could be bought instead"
        )


def flips_said(flips: pl.DataFrame, currency: str | None) -> Iterator[str]:
    """What would have to be otherwise for another option to be cheapest."""
    for row in flips.iter_rows(named=True):
        yield _flip(row, currency)


def _flip(row: Mapping[str, Any], currency: str | None) -> str:
    instead = NAMES[row["other"]]
    instead = f"{instead[0].upper()}{instead[1:]} instead if"
    less = row["at"] < row["now"]
    if row["what"] in ("success", "beyond_repair"):
        share = f"{'fewer' if less else 'more'} than {100 * row['at']:.0f} in 100"
        what = "recaps succeed" if row["what"] == "success" else "failures are beyond repair"
        return f"{instead} {share} {what} (taken now: {100 * row['now']:.0f})"
    price, now = money(row["at"], currency), money(row["now"], currency)
    way = "under" if less else "over"
    return f"{instead} {_PRICED[row['what']]} costs {way} {price} (now {now})"


def left_said(frame: pl.DataFrame, years: int) -> Iterator[str]:
    """What it gives left to run, and why that has no rank."""
    leave = frame.filter(pl.col("option") == "leave")
    if leave.height:
        row = leave.row(0, named=True)
        yield (
            f"Left to run and let go when it fails it gives {row['years_of_service']:.2g} of the "
            f"{years} years: it is not ranked, as a year without the machine has no price here"
        )


def others_said(frame: pl.DataFrame, offer: Offered) -> Iterator[str]:
    """What a used machine brings with it, and what cannot be ranked."""
    if offer.used is not None and offer.used_age is not None:
        yield (
            f"A used machine brings the same ageing parts, {offer.used_age:.3g} years old: its "
            f"price comes on top of the recap it will need"
        )
    lacking = frame.drop_nulls("why_not")
    for row in lacking.iter_rows(named=True):
        yield f"Not reckoned: {row['what']} ({row['why_not']})"


def chances_said(model: str, chances: Chances) -> Iterator[str]:
    """Where the chances come from."""
    if chances.success_told:
        yield f"Taken as asked: {100 * chances.success:.0f} in 100 recaps succeed"
    else:
        rests = (
            f"{chances.cured} of {chances.jobs} recaps whose end is known did"
            if chances.jobs
            else "a guess, as no recap of it has a known end: log recaps with --cured yes or no"
        )
        yield (
            f"That a recap of model {model} succeeds is taken to be {100 * chances.success:.0f} in "
            f"100 ({rests}); `fleet outcomes` says whether failures soon after the job point to "
            "the job"
        )
    beyond = chances.beyond
    if chances.beyond_told:
        yield f"Taken as asked: {100 * beyond.chance:.0f} in 100 failures are beyond repair"
    else:
        yield (
            f"That a failure puts it beyond repair: {100 * beyond.chance:.0f} in 100 "
            f"({beyond.ended} of {beyond.failures} failures were followed by retirement rather "
            "than repair, beside a guess of 10 in 100 as heavy as five failures)"
        )


def measure_said(
    found: Found, lives: Machine, prices: Prices, records: Mapping[str, pl.DataFrame],
    table: Table, offer: Offered, asked: Asked, given: Given, standing: Standing,
) -> Iterator[str]:  # fmt: skip
    """Whether to measure before deciding, and whether a recap pays were it open anyway."""
    from fleet.decisions.condition_first import Reading
    from fleet.decisions.keep_or_replace import long_run
    from fleet.decisions.measure_now import measure_now
    from fleet.flow.bench_costs import bench_of
    from fleet.flow.shop import shop_of
    from fleet.flow.tested_readings import tested_readings

    if lives.own is None:
        return
    bench = bench_of(found.model, records["models"], shop_of(records), given, openings=0.0).bench
    if bench is None:
        yield (
            "Whether to measure first cannot be said: enter the shop's labour rate and the model's "
            "bench hours, or give --opening-cost and --measuring-cost"
        )
        return
    tested = tested_readings(records, within_years=asked.look_years)
    reading = Reading(
        sensitivity=tested.sensitivity if asked.sensitivity is None else asked.sensitivity,
        specificity=tested.specificity if asked.specificity is None else asked.specificity,
        within=days(asked.look_years),
    )
    decision = measure_now(
        lives.own, long_run(lives, prices), reading, due_in=lives.due_in or None,
        opening=bench.opening, measuring=bench.measuring,
    )  # fmt: skip
    worth, cost = money(max(decision.worth, 0.0), offer.currency), money(bench.measuring, None)
    chance = f"{100 * decision.chance:.0f} in 100"
    if decision.measure:
        yield (
            f"Measure it before deciding: it fails within {asked.look_years:g} years with a "
            f"chance of {chance}, of {100 * decision.after_bad:.0f} in 100 after a bad reading "
            f"(then recap it while it is open), {100 * decision.after_good:.0f} after a good one "
            f"(then leave it); knowing that is worth {worth}, measuring costs {cost}"
        )
    elif decision.changes:
        yield (
            f"{_by_money(standing)}: a reading could change the decision, which is worth "
            f"{worth}, but measuring costs {cost}"
        )
    else:
        yield f"{_by_money(standing)}: whatever it reads, the decision stays the same"
    if decision.recap <= decision.leave or standing.action == "check_in":
        return
    if decision.recap - bench.opening < decision.leave:
        yield (
            "Should it be open for another reason, recap it then: what opening costs is saved, and "
            "it is old enough for that"
        )
    else:
        yield "Even if it is open for another reason, a recap does not pay yet"


def _by_money(standing: Standing) -> str:
    """The due list may ask for a reading for what the money cannot see."""
    if standing.action != "measure":
        return "Measuring first does not pay"
    return (
        "The due list asks for a reading because these chances are not well known. Were they as "
        "believed, measuring first would not pay"
    )


def negative_said(frame: pl.DataFrame, currency: str | None) -> Iterator[str]:
    """What a number below zero means."""
    lowest = frame.select(pl.min_horizontal("pay_now", "cost_per_year").min()).item()
    if lowest is not None and lowest < 0.0:
        yield (
            f"A cost below zero ({money(lowest, currency)}) is money that comes in: what the old "
            "machine brings as scrap"
        )


def remark() -> pl.Expr:
    """Beside an option: why it is not reckoned or not ranked, and what a sum below zero is."""
    scrap = pl.when(pl.col("pay_now") < 0.0).then(pl.lit("to pay: the scrap money it brings"))
    ends = pl.when(~pl.col("keeps_service")).then(pl.lit("ends service: not ranked"))
    both = pl.concat_str(ends, scrap, separator="; ", ignore_nulls=True)
    return pl.coalesce("why_not", pl.when(both != "").then(both))
