"""What lies on the shelf: which lots may go in, where, and what their age asks for."""

from dataclasses import dataclass
from datetime import date

import polars as pl


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnShelf:
    """`lots`: decisions.order.LOTS with date_code, age (verdict on it) and advice; `may_stand` as
    decisions.order.MAY_STAND. `notes`: lots that stay where they are, and why.
    """

    lots: pl.DataFrame
    may_stand: pl.DataFrame
    notes: tuple[str, ...]


def on_shelf(
    stock: pl.DataFrame,
    pairs: pl.DataFrame,
    chosen: pl.DataFrame,
    *,
    as_of: date,
    offers: pl.DataFrame,
) -> OnShelf:
    """Lots of the records of stock, the last entered of each part and date code.

    A lot may fill a place where its part is the chosen one, or fits there without care and without
    anything to measure first. Facts of a part on the shelf are those of the offers of that name.
    Lots too old by shelf advice (of small parts on offer fresh: those to be reformed), and lots
    whose facts nobody told, stay out.
    """
    from fleet.capacitors.shelf import fresh_small_parts, shelf_advice

    held = (
        stock.sort("entered_on", "record", nulls_last=False)
        .unique(["part", "date_code"], keep="last", maintain_order=True)
        .filter(pl.col("quantity") > 0)
        .sort("part", "date_code", nulls_last=True)
    )
    fresh = fresh_small_parts(offers, as_of)
    advice = [
        shelf_advice(code, as_of, held="stock", fresh_on_offer=part in fresh)
        for part, code in held.select("part", "date_code").iter_rows()
    ]
    lots = held.select(
        pl.int_range(pl.len(), dtype=pl.Int64).alias("lot"),
        "part",
        pl.col("quantity").cast(pl.Int64).alias("pieces"),
        "date_code",
        pl.Series("age", [a.verdict for a in advice], dtype=pl.String),
        pl.Series("advice", [a.sentence for a in advice], dtype=pl.String),
    )
    described = pairs.select("part").unique()
    unknown = lots.join(described, on="part", how="anti", maintain_order="left")
    kept = lots.filter(pl.col("age") != "leave").join(
        described, on="part", how="semi", maintain_order="left"
    )
    return OnShelf(
        lots=kept,
        may_stand=_may_stand(kept, pairs, chosen),
        notes=(*_old(lots), *_undescribed(unknown, has_places=pairs.height > 0)),
    )


def _may_stand(lots: pl.DataFrame, pairs: pl.DataFrame, chosen: pl.DataFrame) -> pl.DataFrame:
    key = ["model", "position"]
    own = chosen.select(*key, "part").drop_nulls("part").with_columns(pl.lit(0).alias("other"))
    fit = pl.col("verdict") == "fits"
    others = pairs.filter(fit & (pl.col("measure_first").list.len() == 0)).select(
        *key, "part", pl.lit(1).alias("other")
    )
    where = pl.concat([own, others]).unique([*key, "part"], keep="first", maintain_order=True)
    aged = pl.when(pl.col("age") == "fine").then(0).otherwise(1)
    return (
        where.join(lots, on="part")
        .select(*key, "lot", (2 * pl.col("other") + aged).cast(pl.Int64).alias("preference"))
        .sort(*key, "preference", "lot")
    )


def _old(lots: pl.DataFrame) -> list[str]:
    return [
        f"{row['pieces']:,} of {row['part']} stay on the shelf. {row['advice']}"
        for row in lots.filter(pl.col("age") == "leave").iter_rows(named=True)
    ]


def _undescribed(lots: pl.DataFrame, *, has_places: bool) -> list[str]:
    if not has_places:
        return []
    return [
        f"{part} is on the shelf, but nobody told what it is: enter its facts with "
        f"`fleet add offer --part {part} ...` and it will be counted"
        for part in lots["part"].unique(maintain_order=True)
    ]
