"""One order for a window of the plan: parts, spares, what the shelf gives, from whom.

METHODS: order
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.decisions.now_or_later import WAYS, Windows, compare_ways
from fleet.decisions.order import Demand, demand_of, order_lines
from fleet.decisions.parts_late import in_time
from fleet.decisions.spares import Losses, Masses
from fleet.errors import BadInput
from fleet.flow.best_part import BEST, Judged, best_part_for, choose, judge, shelf_of_offers
from fleet.flow.known import known_records
from fleet.flow.order_buy import buy_rows
from fleet.flow.order_dates import Bought, buy_in_time, waits_of
from fleet.flow.order_prices import Priced, priced
from fleet.flow.order_rows import ROWS, care_rows, order_rows, why_rows, without_care
from fleet.flow.order_stock import OnShelf, on_shelf
from fleet.flow.order_window import (
    Window,
    failing_by_model,
    last_day,
    named_window,
    places_in,
    planned_window,
)

__all__ = ["BEST", "ROWS", "Losses", "Order", "Wishes", "best_part_for", "order"]

_WHICH_PLAN = (
    "Ordered for the plan that `fleet plan --as-of {as_of}` prints; a plan of other months or by "
    "another rule has other machines first."
)
_READ = ("models", "positions", "offers", "stock", "shop", "units", "reports")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """How to order. `losses`: chances of duds and slips, service level, least spares.

    `anyway`: order too where something should be measured or asked first (never where facts of a
    place are missing). `currency`: to order in; None: the one that covers all. `rate`: cost of
    money tied up, a year. `surprises`: spares for machines that fail though no job is planned
    (None: for a window of the plan, not for machines named by hand). `keep_dates`: pay more
    where another supplier keeps the day of a job.
    """

    losses: Losses = field(default_factory=Losses)
    anyway: bool = False
    currency: str | None = None
    rate: float = 0.0
    surprises: bool | None = None
    keep_dates: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Order:
    """`frame` (ROWS): by position, those not ordered too. `buy`: a row a part and supplier, as a
    purchaser needs it. `measure`: the rows of `frame` to measure or ask about before ordering.
    `why`: model, position, part, sentence. `care`: sentence and places, what to mind at the bench;
    `brief`: `frame` without it in its advice. `shipping`: supplier, shipping. `wanted`: places,
    spares and the chance of having enough, by part. `bought`: from whom, and which jobs are late.
    `ways`: now or later (decisions.now_or_later.WAYS; no rows without a next window). `said`: the
    order in sentences; `notes`: what it rests on.
    """

    frame: pl.DataFrame
    buy: pl.DataFrame
    measure: pl.DataFrame
    why: pl.DataFrame
    care: pl.DataFrame
    brief: pl.DataFrame
    shipping: pl.DataFrame
    wanted: pl.DataFrame
    bought: Bought
    ways: pl.DataFrame
    window: Window
    cost: float
    currency: str | None
    said: tuple[str, ...]
    notes: tuple[str, ...]


def order(
    store: Path,
    *,
    as_of: date,
    until: date | None = None,
    months: int | None = None,
    units: Sequence[str] = (),
    jobs: pl.DataFrame | None = None,
    wishes: Wishes | None = None,
) -> Order:
    """The parts for the jobs that begin by `until` (default: three months from `as_of`).

    `jobs`: a plan's (frames.JOBS); None: the plan is made here. `units`: machines to order for
    outside any plan. Raises BadInput for a window that cannot be, a part that must be bought and
    has no price, or prices in two currencies; NotKnown for a machine unheard of.
    """
    wishes = wishes or Wishes()
    if wishes.currency is not None and not wishes.currency.strip():
        raise BadInput("the currency to order in is blank; name one, or leave it out")
    until = last_day(as_of, until=until, months=months)
    records = known_records(store, _READ, as_of=as_of)
    if units:
        window = named_window(records["units"], records["reports"], units, as_of=as_of, until=until)
    else:
        window = planned_window(_plan(store, as_of, jobs), as_of=as_of, until=until)
        if jobs is None:
            window = replace(window, notes=(*window.notes, _WHICH_PLAN.format(as_of=as_of)))
    failing: Mapping[str, Masses] = {}
    notes: tuple[str, ...] = ()
    surprises = window.planned if wishes.surprises is None else wishes.surprises
    if surprises and window.jobs.height:
        failing, notes = failing_by_model(
            store, as_of=as_of, until=until, planned=window.jobs["unit"].to_list()
        )
    return order_of(records, window, wishes, failing=failing, notes=(*window.notes, *notes))


def order_of(
    records: Mapping[str, pl.DataFrame],
    window: Window,
    wishes: Wishes,
    *,
    failing: Mapping[str, Masses],
    notes: tuple[str, ...] = (),
    judged: Judged | None = None,
) -> Order:
    """The order of a window from known records of the kinds that `order` reads.

    `judged`: verdicts known already; the order is then not compared with other ways to order.
    """
    from fleet.flow.order_fewer import fewer_suppliers
    from fleet.flow.order_words import order_words

    asked = _asked(records, window, wishes, judged)
    demand = _demand(asked, asked.places, wishes, failing)
    offers = _priced(records, demand.needs, window, wishes)
    needs = demand.needs.filter(pl.col("part").is_in(offers.ask_first).not_())
    waits = waits_of(window, asked.places, demand.taken)
    bought = buy_in_time(needs, offers.offers, waits, window, keep=wishes.keep_dates)
    purchase = bought.purchase
    lines = order_lines(asked.places, demand, purchase.lines)
    rows = order_rows(lines, asked.best, demand, asked.shelf, offers, window)
    ways = pl.DataFrame(schema=WAYS)
    about_ways: tuple[str, ...] = ()
    if judged is None:
        ways, about_ways = _ways(records, asked, demand, window, wishes, failing, bought)
    found = Order(
        frame=rows.drop("points", "care"),
        buy=buy_rows(lines, purchase, offers, records["offers"], window),
        measure=rows.drop("points", "care").filter(pl.col("measure_first").list.len() > 0),
        why=why_rows(asked.best, rows),
        care=care_rows(rows),
        brief=without_care(rows),
        shipping=purchase.shipping,
        wanted=demand.wanted,
        bought=bought,
        ways=ways,
        window=window,
        cost=purchase.cost,
        currency=offers.currency,
        said=(),
        notes=(),
    )
    said, more = order_words(found, records, wishes, failing)
    if judged is None:
        said = (*said, *fewer_suppliers(found, asked.judged, records, wishes, failing))
    return _with_words(
        found,
        said,
        (*notes, *asked.judged.notes, *asked.shelf.notes, *offers.notes, *about_ways, *more),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """What a window asks for before anything is counted."""

    judged: Judged
    best: pl.DataFrame
    orderable: pl.DataFrame
    shelf: OnShelf
    places: pl.DataFrame


def _plan(store: Path, as_of: date, jobs: pl.DataFrame | None) -> pl.DataFrame:
    if jobs is not None:
        return jobs
    from fleet.flow.plan import plan

    return plan(store, as_of=as_of).jobs


def _asked(
    records: Mapping[str, pl.DataFrame], window: Window, wishes: Wishes, judged: Judged | None
) -> _Asked:
    both = pl.concat([window.jobs, window.next_jobs])
    models = both["model"].unique().sort().to_list()
    judged = judged or judge(records, models=models, as_of=window.as_of)
    best = choose(judged)
    named = pl.col("part").is_not_null()
    settled = pl.lit(value=True) if wishes.anyway else pl.col("measure_first").list.len() == 0
    orderable = best.filter(named & settled)
    shelf = on_shelf(
        records["stock"],
        judged.pairs,
        orderable,
        as_of=window.as_of,
        offers=records["offers"],
    )
    places = places_in(window.jobs, best, orderable)
    return _Asked(judged=judged, best=best, orderable=orderable, shelf=shelf, places=places)


def _demand(
    asked: _Asked, places: pl.DataFrame, wishes: Wishes, failing: Mapping[str, Masses]
) -> Demand:
    here = asked.shelf.may_stand.join(places, on=["model", "position"], how="semi")
    return demand_of(
        places,
        asked.judged.parts.select("part", pl.col("price").alias("worth")),
        losses=wishes.losses,
        lots=asked.shelf.lots.select("lot", "part", "pieces"),
        may_stand=here,
        failing=failing,
    )


def _priced(
    records: Mapping[str, pl.DataFrame], needs: pl.DataFrame, window: Window, wishes: Wishes
) -> Priced:
    """Offers of the parts to buy."""
    offers = records["offers"]
    aged = offers.join(
        shelf_of_offers(offers, window.as_of), on="date_code", how="left", nulls_equal=True
    )
    told = records["shop"].sort("entered_on", nulls_last=False)["currency"].drop_nulls()
    return priced(
        aged,
        needs.filter(pl.col("pieces") > 0)["part"].to_list(),
        shop_currency=told[-1] if len(told) else None,
        currency=wishes.currency,
        anyway=wishes.anyway,
    )


def _ways(
    records: Mapping[str, pl.DataFrame],
    asked: _Asked,
    demand: Demand,
    window: Window,
    wishes: Wishes,
    failing: Mapping[str, Masses],
    bought: Bought,
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """Order now, with the next window's parts, or later (WAYS), or why that is not compared.

    Parts that cannot be bought now (no price, too old) are left out of all three.
    """
    none = pl.DataFrame(schema=WAYS)
    if window.next_jobs.is_empty() or window.jobs.is_empty():
        return none, ()
    jobs = pl.concat([window.jobs, window.next_jobs])
    both = _demand(asked, places_in(jobs, asked.best, asked.orderable), wishes, failing).needs
    try:
        offers = _priced(records, both, window, wishes).offers
    except BadInput as error:
        return none, (f"The next window's parts are not compared: {error}",)
    sold = pl.col("part").is_in(offers["part"].unique().to_list())
    ways = compare_ways(
        demand.needs.filter(sold),
        both.filter(sold),
        offers,
        bought.waits.drop_nulls("on"),
        Windows(as_of=window.as_of, next_from=window.next_from, rate=wishes.rate),
        soon=in_time(offers, bought.allowed),
    )
    return ways, ()


def _with_words(found: Order, said: tuple[str, ...], notes: tuple[str, ...]) -> Order:
    return replace(found, said=said, notes=tuple(dict.fromkeys(notes)))
