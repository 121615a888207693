"""What is said first and last of the options of one machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import polars as pl

from fleet.flow.choose_words import money
from fleet.flow.next_steps import asked_first

if TYPE_CHECKING:
    from fleet.flow.choose_machine import Found, Standing
    from fleet.flow.replacement_prices import Offered

_NEAR = 0.02  # share of the cost below which two options cost about the same
_FIRST = {
    "measure": "measure its parts before deciding: what is known does not settle it",
    "check_in": "ask whether it still works before deciding",
}
_BELIEVED = {
    "measure": "If its parts are as believed",
    "check_in": "If it works as believed",
}
_THEN = {
    "recap_now": "`fleet plan` says in which month, `fleet sheet {unit}` prints the sheet for it",
    "recap_when_due": "`fleet plan` says in which month; until then leave it",
    "recap_when_it_fails": "leave it; `fleet log failed {unit}` when it fails",
    "board": "swap the board and log it: `fleet log board_swapped {unit}`",
}


def lead_said(
    frame: pl.DataFrame, found: Found, offer: Offered, years: int, standing: Standing
) -> Iterator[str]:
    """What comes before the money, where the due list knows of something; the cheapest option
    that keeps service, and the next.
    """
    before = _before(found, standing)
    if before:
        yield f"{found.unit}: {before}"
    ranked = frame.drop_nulls("rank").sort("rank").rows(named=True)
    if not ranked:
        return
    best = ranked[0]
    believed = _BELIEVED.get(standing.action or "", "By what is usual" if before else "")
    start = f"{believed}, cheapest" if believed else f"{found.unit}: cheapest"
    yield (
        f"{start} over {years} years is to {best['what']}, "
        f"{money(best['cost_per_year'], offer.currency)} a year of service "
        f"(between {best['cost_low']:.3g} and {best['cost_high']:.3g}), with a chance of "
        f"{100 * best['p_no_failure']:.0f} in 100 of no failure in that time"
    )
    if len(ranked) > 1:
        next_ = ranked[1]
        more = next_["cost_per_year"] - best["cost_per_year"]
        near = more <= _NEAR * abs(best["cost_per_year"])
        yield (
            f"Next cheapest: {next_['what']}, "
            f"{money(next_['cost_per_year'], offer.currency)} a year"
            + (", as good as the same" if near else "")
        )


def _before(found: Found, standing: Standing) -> str:
    said = [_FIRST[standing.action]] if standing.action in _FIRST else []
    if standing.too_few:
        said.insert(
            0,
            f"too few failures of model {found.model} are known (fewer than three) to rest a "
            "decision on; the ranking leans on what is usual for such parts",
        )
    return "; and ".join(said)


def next_step(frame: pl.DataFrame, found: Found, standing: Standing) -> str:
    """What to do next, with its command."""
    unit = found.unit
    if first := asked_first(standing.action, unit):
        return first
    if standing.too_few and found.works:
        return (
            "Next: leave it unless you have reasons of your own, and log every failure of its "
            "model and the machines that still work"
        )
    best = frame.drop_nulls("rank").sort("rank")["option"].first()
    if best == "recap_now" and not found.works:
        return f"Next: `fleet sheet {unit}` prints the sheet for the bench"
    then = _THEN.get(
        str(best), "once another has its place, `fleet log retired {unit}`; add the other"
    )
    return f"Next: {then.format(unit=unit)}"
