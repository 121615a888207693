"""An order in sentences: what to buy, what to measure first, now or later, what it rests on."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.decisions.now_or_later import advised_way
from fleet.decisions.spares import Losses, Masses
from fleet.flow.expected_words import tenths
from fleet.flow.order_complete import complete_words
from fleet.flow.order_dates import late_words
from fleet.flow.order_window import surprises_expected
from fleet.flow.read_aloud import number

if TYPE_CHECKING:
    from fleet.flow.order import Order, Wishes

_NAMED = 4
_WORTH_SAYING = 0.05  # machines


def order_words(
    found: "Order",
    records: Mapping[str, pl.DataFrame],
    wishes: "Wishes",
    failing: Mapping[str, Masses],
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Sentences to read first, and the notes below them."""
    if found.window.jobs.is_empty():
        return (_no_jobs(found),), ()
    said = (
        *complete_words(found),
        *_what(found),
        *_measure(found),
        *late_words(found),
        *_way(found, wishes),
        *_first_of_a_model(found, records),
    )
    notes = (*_spares(found, wishes.losses, failing), *_early(found), *_apart(found))
    return said, notes


def money(amount: float, currency: str | None) -> str:
    """An amount with two decimals and its currency: "31.40 XTS"."""
    return f"{amount:,.2f} {currency}" if currency else f"{amount:,.2f}"


def _no_jobs(found: "Order") -> str:
    window = found.window
    return (
        f"No recap is planned from {window.as_of} to {window.until}: there is nothing to order. "
        "Name a later day with --until, or machines with --units"
    )


def _what(found: "Order") -> tuple[str, ...]:
    window = found.window
    machines = _counted(window.jobs.height, "machine")
    when = (
        f"with a job from {window.as_of} to {window.until}" if window.planned else "named by hand"
    )
    shelf = int(found.frame["from_stock"].sum())
    taken = f" {_counted(shelf, 'piece')} from the shelf." if shelf else ""
    if found.buy.is_empty():
        return (f"For {machines} {when} nothing is to be bought.{taken}",)
    goods = float(found.buy["line_total"].sum())
    shipping = float(found.shipping["shipping"].sum())
    parts = _counted(found.buy["part"].n_unique(), "part")
    pieces = _counted(int(found.buy["quantity"].sum()), "piece")
    return (
        f"For {machines} {when}: {parts} to buy, {pieces}, from "
        f"{_counted(found.shipping.height, 'supplier')}, for {money(found.cost, found.currency)} "
        f"({money(goods, found.currency)} for parts, {money(shipping, found.currency)} for "
        f"shipping).{taken}",
    )


def _measure(found: "Order") -> tuple[str, ...]:
    rows = found.measure
    left = rows.filter(pl.col("quantity") == 0)
    none = found.frame.filter((pl.col("quantity") == 0) & (pl.col("measure_first").list.len() == 0))
    said = []
    if left.height:
        said.append(
            f"Measure before ordering, not ordered: {_places(left)}. Take the old part out, "
            "measure, correct the place's record with `fleet amend`, and order again"
        )
    kept = rows.filter(pl.col("quantity") > 0)
    if kept.height:
        said.append(f"Ask or measure before this is sent: {_places(kept)}")
    bare = none.filter(pl.col("position").is_null())
    said.extend(
        f"Nobody described the places on the board of {model}: nothing is ordered for it"
        for model in bare["model"]
    )
    unfit = none.filter(pl.col("position").is_not_null())
    if unfit.height:
        listed = ", ".join(f"{m} {p}" for m, p in unfit.select("model", "position").iter_rows())
        said.append(f"No part on offer fits {listed}: the reasons are with the order")
    return tuple(said)


def _places(rows: pl.DataFrame) -> str:
    return "; ".join(
        f"{row['model']} {row['position']} ({', '.join(row['measure_first'])})"
        for row in rows.iter_rows(named=True)
    )


def _way(found: "Order", wishes: "Wishes") -> tuple[str, ...]:
    if found.ways.is_empty():
        return ()
    ways = {row["way"]: row for row in found.ways.iter_rows(named=True)}
    apart, now, later = (ways[w] for w in ("apart", "together_now", "together_later"))
    saved = apart["cost"] - now["cost"]
    best = advised_way(found.ways)
    rate = (
        f"money tied up at {wishes.rate:.1%} a year counted"
        if wishes.rate
        else "money tied up not counted: give --rate"
    )
    if saved <= 0.005:
        return ("Ordering the next window's parts along with these saves nothing",)
    head = (
        f"With the next window's parts (from {found.window.next_from}) in the same order "
        f"{money(saved, found.currency)} would be saved ({rate})"
    )
    return (f"{head}; {_against(now, apart, best)}", *_waiting(later, apart, now))


def _against(now: Mapping[str, Any], apart: Mapping[str, Any], best: str) -> str:
    months = now["years_on_shelf"] * 12
    lying = (
        f"they would lie {now['years_on_shelf'] * DAYS_PER_YEAR:.0f} days"
        if months < 3
        else f"they would lie {months:.0f} months"
    )
    if now["lie_longer"]:
        pieces = "1 piece" if now["lie_longer"] == 1 else f"{now['lie_longer']:,} pieces"
        return (
            f"but by then {pieces} of what was bought early ({now['which_longer']}) would be more "
            "than two years from making, by the date codes on offer, and want reforming before "
            "being fitted: order apart"
        )
    if now["jobs_late"] > apart["jobs_late"] or now["days_late"] > apart["days_late"]:
        return "but jobs of this window would wait for the slower supplier: order apart"
    return f"{lying}, within two years of making: " + (
        "order both now" if best == "together_now" else "waiting with both is cheaper still"
    )


def _waiting(
    later: Mapping[str, Any], apart: Mapping[str, Any], now: Mapping[str, Any]
) -> tuple[str, ...]:
    if later["jobs_late"] <= apart["jobs_late"] or later["cost"] > now["cost"] + 0.005:
        return ()
    return (
        f"Waiting until {later['order_on']} to order both would make "
        f"{_counted(later['jobs_late'], 'job')} late, by up to {later['days_late']:,} days",
    )


def _first_of_a_model(found: "Order", records: Mapping[str, pl.DataFrame]) -> tuple[str, ...]:
    """Common practice, no source."""
    recapped = records["reports"].filter(pl.col("kind") == "recapped")["unit"]
    units = records["units"].filter(pl.col("unit").is_in(recapped.unique().to_list()))
    done = set(units["model"])
    new = [m for m in found.window.jobs["model"].unique().sort() if m not in done]
    if not new:
        return ()
    more = f" or {len(new) - _NAMED:,} models more" if len(new) > _NAMED else ""
    return (
        f"No {' or '.join(new[:_NAMED])}{more} is known to have been recapped before: "
        "open one, take the old parts out and measure every place before you order. Parts ordered "
        "before the old one is out are where ordering mistakes come from",
    )


def _spares(found: "Order", losses: Losses, failing: Mapping[str, Masses]) -> tuple[str, ...]:
    if found.wanted.is_empty():
        return ()
    models = set(found.window.jobs["model"])
    more = surprises_expected(failing, models)
    others = (
        f", and other machines of these models that may fail by then ({tenths(more)} expected)"
        if more
        else ""
    )
    short = found.wanted["chance_enough"].min()
    least = f"at least {losses.least} of each" if losses.least else "none where none is needed"
    return (
        f"Spares: each part is enough with a chance of {losses.level:.4g} or more (the least sure "
        f"here: {number(short if isinstance(short, float) else None)}), reckoning with "
        f"{100 * losses.dud:.3g} in a hundred duds, {100 * losses.slip:.3g} in a hundred spoilt "
        f"at the bench{others}; {least}. The two shares are assumptions: count your own and give "
        "--dud and --slip",
    )


def _early(found: "Order") -> tuple[str, ...]:
    """Machines of the window that fail before their day need their parts earlier, not more."""
    expected = float(found.window.jobs["p_fail_before"].sum() or 0.0)
    if expected < _WORTH_SAYING:
        return ()
    return (
        f"About {tenths(expected)} of these machines may fail before their day: they need no more "
        "parts, only this order in time",
    )


def _apart(found: "Order") -> tuple[str, ...]:
    if found.buy.is_empty():
        return ()
    return (
        "Every described place of a machine is renewed. A part is chosen place by place: one that "
        "fits before one that fits with care, then the longest rated life at one temperature (from "
        "four fifths on as long), then the price. "
        "Compare what arrives with the old part before anything is soldered",
    )


def _counted(count: int, one: str) -> str:
    return f"{count:,} {one if count == 1 else one + 's'}"
