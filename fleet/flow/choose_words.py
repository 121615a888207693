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
    from fleet.flow.choose_machine import Found
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
    "board": "swapping the board",
}
_NEAR = 0.02  # share of the cost below which two options cost about the same


def money(value: float, currency: str | None) -> str:
    """23 XTS, or 7.4 without a currency."""
    number = f"{value:,.0f}" if abs(value) >= 100 else f"{value:.3g}"
    return f"{number} {currency}" if currency else number


def lead_said(frame: pl.DataFrame, found: Found, offer: Offered, years: int) -> Iterator[str]:
    """The cheapest option that keeps service, and the next."""
    ranked = frame.drop_nulls("rank").sort("rank").rows(named=True)
    if not ranked:
        return
    best = ranked[0]
    cost = money(best["cost_per_year"], offer.currency)
    yield (
        f"{found.unit}: cheapest over {years} years is to {best['what']}, {cost} a year of service "
        f"(between {best['cost_low']:.3g} and {best['cost_high']:.3g}), with a chance of "
        f"{100 * best['p_no_failure']:.0f} in 100 of no failure in that time"
    )
    if len(ranked) > 1:
        next_ = ranked[1]
        more = next_["cost_per_year"] - best["cost_per_year"]
        near = more <= _NEAR * abs(best["cost_per_year"])
        yield (
            f"Next: {next_['what']}, {money(next_['cost_per_year'], offer.currency)} a year"
            + (", as good as the same" if near else "")
        )


def differs_said(frame: pl.DataFrame, lives: Machine) -> Iterator[str]:
    """Where the due list says otherwise."""
    best = frame.drop_nulls("rank").sort("rank")["option"].first()
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
    best, other = NAMES[row["best"]], NAMES[row["other"]]
    less = row["at"] < row["now"]
    if row["what"] in ("success", "beyond_repair"):
        share = f"{'fewer' if less else 'more'} than {100 * row['at']:.0f} in 100"
        what = (
            f"{share} recaps succeeded"
            if row["what"] == "success"
            else f"{share} failures put a machine beyond repair"
        )
        return f"To {other} would be cheapest if {what}"
    thing = _PRICED[row["what"]]
    price, now = money(row["at"], currency), money(row["now"], currency)
    return (
        f"{thing[0].upper()}{thing[1:]} would have to cost {'less' if less else 'more'} than "
        f"{price} (now {now}) before it is cheaper to {other} than to {best}"
    )


def others_said(frame: pl.DataFrame, offer: Offered, years: int) -> Iterator[str]:
    """What is not ranked, and why; and what a used machine brings with it."""
    leave = frame.filter(pl.col("option") == "leave")
    if leave.height:
        row = leave.row(0, named=True)
        yield (
            f"Left to run and let go when it fails it gives {row['years_of_service']:.2g} of the "
            f"{years} years: it is not ranked, as a year without the machine has no price here"
        )
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
        yield (
            f"That a recap of model {model} succeeds is taken to be {100 * chances.success:.0f} in "
            f"100 ({chances.cured} of {chances.jobs} recaps whose end is known did)"
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
    table: Table, offer: Offered, asked: Asked, given: Given,
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
            f"Measuring first does not pay: a reading could change the decision, which is worth "
            f"{worth}, but measuring costs {cost}"
        )
    else:
        yield "Measuring first does not pay: whatever it reads, the decision stays the same"
    if decision.recap <= decision.leave:
        return
    if decision.recap - bench.opening < decision.leave:
        yield (
            "Should it be open for another reason, recap it then: what opening costs is saved, and "
            "it is old enough for that"
        )
    else:
        yield "Even if it is open for another reason, a recap does not pay yet"
