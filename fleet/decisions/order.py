"""The parts of a window's jobs: places to fill, spares, what the shelf gives, what is bought.

METHODS: order
"""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from fleet.decisions.from_stock import take_from_stock
from fleet.decisions.spares import Losses, Masses, places_more, spares_for
from fleet.frames import check_frame
from fleet.frames.tables import F, N, S

PLACES = pl.Schema(
    {
        "model": S,
        "position": S,
        "part": S,  # chosen for the position
        "units": N,  # machines of the window
    }
)
LOTS = pl.Schema({"lot": N, "part": S, "pieces": N})
# Which lots may go where; `preference` 0 first. A lot of the chosen part is always named here.
MAY_STAND = pl.Schema({"model": S, "position": S, "lot": N, "preference": N})
ORDER = pl.Schema(
    {
        "model": S,
        "position": S,
        "part": S,  # that goes in: the chosen one, or another from the shelf
        "quantity": N,  # pieces wanted: needed and spares
        "spares": N,  # of the part; written at the first of its positions
        "needed": N,  # places to fill
        "from_stock": N,
        "to_buy": N,  # more than quantity less from_stock where only more can be bought
        "supplier": S,
        "unit_price": F,
        "cost": F,  # of the pieces to buy, without shipping
    }
)
# What is wanted of each chosen part, and how sure it is that it will do.
WANTED = pl.Schema({"part": S, "places": N, "spares": N, "chance_enough": F})


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Demand:
    """What a window asks for: `wanted` (WANTED), `taken` from the shelf (model and position, null
    for spares; part wanted; lot and lot_part that goes in; pieces), `needs` (purchase.NEEDS: what
    is left to buy).
    """

    wanted: pl.DataFrame
    taken: pl.DataFrame
    needs: pl.DataFrame


def wanted_of(
    places: pl.DataFrame, losses: Losses, failing: Mapping[str, Masses] | None = None
) -> pl.DataFrame:
    """Places and spares of each part (WANTED), merged across models and positions.

    `failing`: by model, masses of the number of other machines that fail in the window.
    """
    check_frame(places, PLACES, name="places")
    rows = []
    for (part,), mine in places.sort("part").group_by("part", maintain_order=True):
        count = int(mine["units"].sum())
        each = dict(mine.group_by("model", maintain_order=True).len().iter_rows())
        more = places_more(failing or {}, each)
        found = spares_for(count, losses, more=more)
        rows.append((part, count, found.spares, found.chance))
    return pl.DataFrame(rows, schema=WANTED, orient="row")


def demand_of(
    places: pl.DataFrame,
    worth: pl.DataFrame,
    *,
    losses: Losses,
    lots: pl.DataFrame | None = None,
    may_stand: pl.DataFrame | None = None,
    failing: Mapping[str, Masses] | None = None,
) -> Demand:
    """What a window's PLACES ask for, net of what lies on the shelf (LOTS, MAY_STAND).

    `worth`: part, worth (price of a piece bought; null or missing: nobody knows). Pieces on the
    shelf go where they save most; other parts than the chosen fill places, spares are of the
    chosen part.
    """
    lots = pl.DataFrame(schema=LOTS) if lots is None else lots
    may_stand = pl.DataFrame(schema=MAY_STAND) if may_stand is None else may_stand
    check_frame(lots, LOTS, name="lots")
    check_frame(may_stand, MAY_STAND, name="lots that may stand in")
    wanted = wanted_of(places, losses, failing)
    taken = _take(places, wanted, worth, lots, may_stand)
    shelf = taken.group_by("part").agg(pl.col("pieces").sum().alias("shelf"))
    needs = wanted.join(shelf, on="part", how="left", maintain_order="left").select(
        "part",
        (pl.col("places") + pl.col("spares") - pl.col("shelf").fill_null(0)).alias("pieces"),
    )
    return Demand(wanted=wanted, taken=taken, needs=needs)


def order_lines(places: pl.DataFrame, demand: Demand, bought: pl.DataFrame) -> pl.DataFrame:
    """The order by position (ORDER). `bought`: purchase.LINES; a part that is wanted but not
    among them stays short of its quantity.
    """
    return _lines(places, demand.wanted, demand.taken, bought)


def _take(
    places: pl.DataFrame,
    wanted: pl.DataFrame,
    worth: pl.DataFrame,
    lots: pl.DataFrame,
    may_stand: pl.DataFrame,
) -> pl.DataFrame:
    """What the shelf gives: model, position (null: spares), part wanted, lot, lot_part, pieces."""
    wants = pl.concat(
        [
            places.select("model", "position", "part", pl.col("units").alias("pieces")),
            wanted.select(
                pl.lit(None, dtype=pl.String).alias("model"),
                pl.lit(None, dtype=pl.String).alias("position"),
                "part",
                pl.col("spares").alias("pieces"),
            ),
        ]
    ).with_row_index("want")
    wants = wants.join(worth, on="part", how="left", maintain_order="left")
    last = may_stand.select(pl.col("preference").max()).item() or 0
    spare = wants.filter(pl.col("model").is_null()).join(lots.select("lot", "part"), on="part")
    pairs = pl.concat(
        [
            wants.join(may_stand, on=["model", "position"]).select("lot", "want", "preference"),
            spare.select("lot", "want", pl.lit(last + 1, dtype=pl.Int64).alias("preference")),
        ]
    )
    moved = take_from_stock(
        wants.select("want", "pieces", "worth"), lots.select("lot", "pieces"), pairs
    )
    named = wants.select("want", "model", "position", "part")
    lot_parts = lots.select("lot", pl.col("part").alias("lot_part"))
    return (
        moved.join(named, on="want")
        .join(lot_parts, on="lot")
        .select("model", "position", "part", "lot", "lot_part", "pieces")
    )


def _lines(
    places: pl.DataFrame, wanted: pl.DataFrame, taken: pl.DataFrame, bought: pl.DataFrame
) -> pl.DataFrame:
    """One row a position and part that goes in: the chosen one first, then others on the shelf."""
    other = (
        taken.filter(pl.col("model").is_not_null() & (pl.col("lot_part") != pl.col("part")))
        .group_by("model", "position", "lot_part", maintain_order=True)
        .agg(pl.col("pieces").sum())
    )
    by_others = other.group_by("model", "position").agg(pl.col("pieces").sum().alias("others"))
    own = (
        places.join(by_others, on=["model", "position"], how="left", maintain_order="left")
        .with_columns((pl.col("units") - pl.col("others").fill_null(0)).alias("needed"))
        .join(wanted.select("part", "spares"), on="part", how="left", maintain_order="left")
    )
    first = pl.int_range(pl.len()).over("part") == 0
    own = own.with_columns(pl.when(first).then("spares").otherwise(0).alias("spares"))
    own = _shelf_shared(own, taken)
    own = _bought_shared(own, bought)
    rest = other.select(
        "model",
        "position",
        pl.col("lot_part").alias("part"),
        pl.col("pieces").alias("quantity"),
        pl.lit(0, dtype=pl.Int64).alias("spares"),
        pl.col("pieces").alias("needed"),
        pl.col("pieces").alias("from_stock"),
        pl.lit(0, dtype=pl.Int64).alias("to_buy"),
        pl.lit(None, dtype=pl.String).alias("supplier"),
        pl.lit(None, dtype=pl.Float64).alias("unit_price"),
        pl.lit(0.0).alias("cost"),
    )
    own = own.filter((pl.col("quantity") > 0) | (pl.col("to_buy") > 0))
    return pl.concat([own.select(ORDER.names()), rest]).sort(
        "model", "position", maintain_order=True
    )


def _shelf_shared(own: pl.DataFrame, taken: pl.DataFrame) -> pl.DataFrame:
    """Pieces of the chosen part from the shelf, at the place or the spares they were taken for."""
    mine = taken.filter(pl.col("lot_part") == pl.col("part"))
    placed = (
        mine.filter(pl.col("model").is_not_null())
        .group_by("model", "position")
        .agg(pl.col("pieces").sum().alias("placed"))
    )
    kept = (
        mine.filter(pl.col("model").is_null())
        .group_by("part")
        .agg(pl.col("pieces").sum().alias("kept"))
    )
    first = pl.int_range(pl.len()).over("part") == 0
    return (
        own.join(placed, on=["model", "position"], how="left", maintain_order="left")
        .join(kept, on="part", how="left", maintain_order="left")
        .with_columns(
            (
                pl.col("placed").fill_null(0)
                + pl.when(first).then(pl.col("kept").fill_null(0)).otherwise(0)
            ).alias("from_stock"),
            (pl.col("needed") + pl.col("spares")).alias("quantity"),
        )
    )


def _bought_shared(own: pl.DataFrame, bought: pl.DataFrame) -> pl.DataFrame:
    """Pieces to buy by position; those beyond what is wanted are at the part's first position."""
    lines = bought.select("part", "supplier", "unit_price", pl.col("pieces").alias("bought"))
    open_ = pl.col("quantity") - pl.col("from_stock")
    first = pl.int_range(pl.len()).over("part") == 0
    beyond = pl.col("bought").fill_null(0) - open_.sum().over("part")
    return (
        own.join(lines, on="part", how="left", maintain_order="left")
        .with_columns(
            pl.when(pl.col("bought").is_null())
            .then(0)
            .otherwise(open_ + pl.when(first).then(beyond.clip(0)).otherwise(0))
            .alias("to_buy")
        )
        .with_columns(
            pl.when(pl.col("to_buy") > 0).then(pl.col("supplier", "unit_price")),
            (pl.col("to_buy") * pl.col("unit_price").fill_null(0.0))
            .round(6)  # not a digit of the price, but what binary numbers add to it
            .alias("cost"),
        )
    )
