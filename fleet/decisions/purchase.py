"""Which offers to take so that every need is met at least cost.

A part at a supplier may have price breaks (from so many pieces on every piece costs less), the
first of which is the least that can be bought; each supplier ships an order for one charge,
whatever is in it.

METHODS: purchase
"""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.frames import check_frame
from fleet.frames.tables import F, N, S

NEEDS = pl.Schema({"part": S, "pieces": N})
OFFERED = pl.Schema(
    {
        "part": S,
        "supplier": S,
        "price": F,  # of one piece
        "price_from_quantity": N,  # of this supplier; null: from one piece on
        "shipping": F,  # of one order there; null: nothing
    }
)
LINES = pl.Schema(
    {
        "part": S,
        "supplier": S,
        "pieces": N,  # to buy: what is needed, or more where only more can be bought or is cheaper
        "unit_price": F,
        "cost": F,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Purchase:
    """`lines` (LINES, by supplier and part), `shipping` (supplier, shipping) and the whole cost."""

    lines: pl.DataFrame
    shipping: pl.DataFrame
    cost: float


def choose_offers(needs: pl.DataFrame, offers: pl.DataFrame) -> Purchase:
    """The cheapest purchase that meets every need, shipping included.

    `needs`: NEEDS, one row a part, pieces of zero or less ask for nothing. `offers`: OFFERED, in
    one currency. One offer a part is enough: two that share a need could both be bought at the
    lower of their two prices, since taking more never leaves a price break. Exact, by a program
    in whole numbers (HiGHS through scipy). Raises BadInput when a part has no offer with a price.
    """
    check_frame(needs, NEEDS, name="needs")
    check_frame(offers, OFFERED, name="offers")
    wanted = needs.filter(pl.col("pieces") > 0)
    choices = _choices(wanted, offers)
    missing = wanted.join(choices, on="part", how="anti")["part"].to_list()
    if missing:
        raise BadInput(
            f"no offer with a price for {', '.join(missing)}; enter one with "
            "`fleet add offer --part ... --supplier ... --price ...`"
        )
    if choices.is_empty():
        return Purchase(
            lines=pl.DataFrame(schema=LINES),
            shipping=pl.DataFrame(schema={"supplier": S, "shipping": F}),
            cost=0.0,
        )
    charges = choices.group_by("supplier", maintain_order=True).agg(pl.col("shipping").max())
    taken = _cheapest(choices, charges)
    lines = choices.filter(pl.Series(taken)).sort("supplier", "part", nulls_last=True)
    used = charges.join(lines, on="supplier", how="semi", nulls_equal=True)
    cost = float(lines["cost"].sum()) + float(used["shipping"].sum())
    return Purchase(
        lines=lines.select(LINES.names()),
        shipping=used.sort("supplier", nulls_last=True),
        cost=cost,
    )


def _choices(wanted: pl.DataFrame, offers: pl.DataFrame) -> pl.DataFrame:
    """Ways to buy each part: LINES and shipping, the cheapest price break of each supplier."""
    least = pl.col("price_from_quantity").fill_null(1).clip(1)
    ways = (
        offers.filter(pl.col("price").is_not_null())
        .join(wanted, on="part")
        .with_columns(pl.max_horizontal("pieces", least).alias("pieces"))
        .with_columns((pl.col("price") * pl.col("pieces")).alias("cost"))
        # A supplier's charge is the same for all it ships; where told twice, the higher.
        .with_columns(pl.col("shipping").fill_null(0.0).max().over("supplier"))
    )
    return (
        ways.sort("part", "supplier", "cost", "pieces", nulls_last=True)
        .unique(["part", "supplier"], keep="first", maintain_order=True)
        .select(
            "part",
            "supplier",
            pl.col("pieces").cast(pl.Int64),
            pl.col("price").alias("unit_price"),
            "cost",
            "shipping",
        )
    )


def _cheapest(choices: pl.DataFrame, charges: pl.DataFrame) -> list[bool]:
    """Which choices are taken: one a part, and a supplier's charge once where any is taken.

    Minimise sum(cost y) + sum(shipping z), y and z 0 or 1, one y a part, y <= z of its supplier.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    n, m = choices.height, charges.height
    parts = choices["part"].rank("dense").to_numpy().astype(np.int64) - 1
    place = {name: i for i, name in enumerate(charges["supplier"].to_list())}
    supplier = np.array([place[name] for name in choices["supplier"].to_list()])
    rows = np.arange(n)
    one_each = coo_array((np.ones(n), (parts, rows)), shape=(int(parts.max()) + 1, n + m))
    shipped = coo_array(
        (
            np.concatenate([np.ones(n), -np.ones(n)]),
            (np.concatenate([rows, rows]), np.concatenate([rows, n + supplier])),
        ),
        shape=(n, n + m),
    )
    found = milp(
        np.concatenate([choices["cost"].to_numpy(), charges["shipping"].to_numpy()]),
        # y is whole by itself once z is: each part then takes its cheapest open supplier
        integrality=np.concatenate([np.zeros(n), np.ones(m)]),
        bounds=Bounds(0, 1),
        constraints=[
            LinearConstraint(one_each.tocsr(), 1, 1),
            LinearConstraint(shipped.tocsr(), -np.inf, 0),
        ],
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise RuntimeError(f"the solver ended without an order: {found.message}")
    return _one_of_each(choices, found.x[n:] > 0.5, supplier)


def _one_of_each(choices: pl.DataFrame, is_open: np.ndarray, supplier: np.ndarray) -> list[bool]:
    """Each part from the cheapest of the suppliers ordered from; equal costs by name."""
    return (
        choices.select(
            "part",
            "supplier",
            pl.Series("cost", np.where(is_open[supplier], choices["cost"].to_numpy(), np.inf)),
        )
        .select((pl.col("cost").rank("ordinal").over("part") == 1).alias("taken"))["taken"]
        .to_list()
    )
