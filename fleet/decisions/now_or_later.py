"""Order this window's parts now, with the next window's, or wait and order both then.

METHODS: now-or-later
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.decisions.parts_late import late_jobs, lead_days
from fleet.decisions.purchase import Purchase, choose_offers
from fleet.errors import BadInput
from fleet.frames.tables import D, F, N, S

Way = Literal["apart", "together_now", "together_later"]

WAYS = pl.Schema(
    {
        "way": S,  # apart, together_now, together_later
        "orders": N,  # sent, one to each supplier each time
        "goods": F,
        "shipping": F,
        "tied_up": F,  # what the money for the next window's parts costs until they are fitted
        "cost": F,  # the three together
        "lie_longer": N,  # pieces past the shelf limit when fitted that would not be otherwise
        "which_longer": S,  # the parts of those pieces; null: none
        "years_on_shelf": F,  # that the next window's parts lie here before they are fitted
        "jobs_late": N,  # jobs of this window whose parts come after their day
        "days_late": N,  # of the latest of them
        "order_on": D,  # of the first order
    }
)

_NONE_LIE = pl.DataFrame(schema={"part": S, "pieces": N})


@dataclass(frozen=True, slots=True, kw_only=True)
class Windows:
    """Days that bear on the choice. `next_from`: first day of the next window's jobs.

    `rate`: cost of money, a year (0: none is reckoned). `shelf_years`: after which parts need
    reforming (two years: makers' notes, METHODS: shelf).
    """

    as_of: date
    next_from: date
    rate: float = 0.0
    shelf_years: float = 2.0

    def __post_init__(self) -> None:
        """Raise BadInput for a rate or days that cannot be."""
        if not 0.0 <= self.rate <= 10.0:
            raise BadInput(
                f"the rate is {self.rate:g} a year; give a share from 0 to 10, like 0.05"
            )
        if self.next_from < self.as_of:
            raise BadInput(f"the next window begins {self.next_from}, before {self.as_of}")

    @property
    def years_between(self) -> float:
        """From today to the next window's first job."""
        return (self.next_from - self.as_of).days / DAYS_PER_YEAR


def compare_ways(
    this: pl.DataFrame,
    both: pl.DataFrame,
    offers: pl.DataFrame,
    starts: pl.DataFrame,
    windows: Windows,
    *,
    soon: pl.DataFrame | None = None,
) -> pl.DataFrame:
    """The three ways (WAYS), cheapest first.

    `this` and `both`: purchase.NEEDS of this window, and of the two together; what the two ask
    for beyond this one is ordered later when ordered apart, spares being carried over. `offers`:
    purchase.OFFERED with lead_days and age_years (of the parts there, today; null: unknown).
    `starts`: parts_late.WAITS of this window's jobs. `soon`: the offers that this window's parts
    may be bought from, where not every one keeps its days. Raises BadInput as `choose_offers`.
    """
    more = (
        both.join(this.rename({"pieces": "first"}), on="part", how="left")
        .with_columns(
            (pl.col("pieces").clip(0) - pl.col("first").fill_null(0).clip(0))
            .clip(0)
            .alias("pieces")
        )
        .select("part", "pieces")
    )
    hurried = offers if soon is None else soon
    now, joint = (choose_offers(needs, hurried) for needs in (this, both))
    later, joint_later = (choose_offers(needs, offers) for needs in (more, both))
    between = windows.years_between
    ahead = _priced(more, joint.lines, offers)
    extra = 0.0 if ahead.is_empty() else float((ahead["pieces"] * ahead["unit_price"]).sum())
    lead = lead_days(now.lines, offers), lead_days(joint.lines, offers)
    at_once = starts.select("part").unique().with_columns(lead=pl.lit(0, dtype=pl.Int64))
    rows = [
        _way(
            "apart",
            (now, later),
            tied_up=0.0,
            lying=_NONE_LIE,
            on_shelf=0.0,
            late=_late(starts, lead[0], windows.as_of),
            order_on=windows.as_of,
        ),
        _way(
            "together_now",
            (joint,),
            tied_up=windows.rate * between * extra,
            lying=_past_shelf(ahead, windows),
            on_shelf=between,
            late=_late(starts, lead[1], windows.as_of),
            order_on=windows.as_of,
        ),
        _way(
            "together_later",
            (joint_later,),
            tied_up=0.0,
            lying=_NONE_LIE,
            on_shelf=0.0,
            late=_late(starts, at_once, windows.next_from),
            order_on=windows.next_from,
        ),
    ]
    return pl.DataFrame(rows, schema=WAYS).sort("cost", "jobs_late", maintain_order=True)


def advised_way(ways: pl.DataFrame) -> Way:
    """The cheapest way that makes no job later than ordering apart does and lets no part lie past
    the shelf limit that would not have lain otherwise; `apart` when nothing is saved.
    """
    apart = ways.filter(pl.col("way") == "apart").row(0, named=True)
    fair = ways.filter(
        (pl.col("jobs_late") <= apart["jobs_late"])
        & (pl.col("days_late") <= apart["days_late"])
        & (pl.col("lie_longer") == 0)
        & ((pl.col("cost") < apart["cost"] - 1e-9) | (pl.col("way") == "apart"))
    )
    way: Way = fair["way"][0]
    return way


def _way(
    way: Way,
    purchases: Sequence[Purchase],
    *,
    tied_up: float,
    lying: pl.DataFrame,
    on_shelf: float,
    late: tuple[int, int],
    order_on: date,
) -> dict[str, object]:
    goods = sum(float(p.lines["cost"].sum()) for p in purchases)
    shipping = sum(float(p.shipping["shipping"].sum()) for p in purchases)
    return {
        "way": way,
        "orders": sum(p.shipping.height for p in purchases),
        "goods": goods,
        "shipping": shipping,
        "tied_up": tied_up,
        "cost": goods + shipping + tied_up,
        "lie_longer": int(lying["pieces"].sum()),
        "which_longer": ", ".join(lying["part"].sort()) or None,
        "years_on_shelf": on_shelf,
        "jobs_late": late[0],
        "days_late": late[1],
        "order_on": order_on,
    }


def _priced(more: pl.DataFrame, lines: pl.DataFrame, offers: pl.DataFrame) -> pl.DataFrame:
    """The next window's pieces with the price and the age of what is bought for both."""
    ages = offers.group_by("part", "supplier").agg(pl.col("age_years").max())
    return (
        more.filter(pl.col("pieces") > 0)
        .join(lines.select("part", "supplier", "unit_price"), on="part")
        .join(ages, on=["part", "supplier"], how="left", nulls_equal=True)
    )


def _past_shelf(ahead: pl.DataFrame, windows: Windows) -> pl.DataFrame:
    """Pieces that reach the shelf limit only by lying here until the next window.

    Of a part whose age nobody told, the time it lies here is all that is known.
    """
    age = pl.col("age_years").fill_null(0.0)
    passed = (age <= windows.shelf_years) & (age + windows.years_between > windows.shelf_years)
    return ahead.filter(passed).select("part", "pieces")


def _late(starts: pl.DataFrame, leads: pl.DataFrame, order_on: date) -> tuple[int, int]:
    """Jobs that begin before their parts are there, and by how many days the latest of them."""
    late = late_jobs(starts, leads, order_on)
    days = late.select((pl.col("there") - pl.col("on")).dt.total_days().max()).item()
    return late.height, int(days or 0)
