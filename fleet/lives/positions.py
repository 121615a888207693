"""Rule 9: a life for each position instead of one for each board."""

import polars as pl

from fleet.lives.build_dates import batch_parts
from fleet.lives.contradictions import REPLACING

NO_POSITIONS = "no position of its model is known, so it has no lives by position"


def split_positions(
    units: pl.DataFrame, placed: pl.DataFrame, positions: pl.DataFrame
) -> tuple[pl.DataFrame, pl.DataFrame, pl.DataFrame]:
    """Units and reports with every position as a unit of its own, and units without positions.

    A recap of some positions is a whole recap of those and shows the others working. A failure at
    named positions is one of theirs and an other cause to the rest; named nowhere it is `masked`,
    unless the model has one position only. Positions of a model are those of the positions table
    and all that batches and reports of its units name.
    """
    named = _named(placed["positions"])
    batches = batch_parts(pl.concat([units["batch"], placed["batch"]]))
    known = _known_positions(units, placed, positions, named, batches)
    each = (
        units.drop("position")
        .join(known, on="model", maintain_order="left")
        .rename({"idx": "unit_idx"})
        .with_columns(idx=pl.int_range(1, pl.len() + 1, dtype=pl.Int64))
    )
    one = each.select("idx", "unit_idx", "position", "alone")
    told = placed.rename({"idx": "unit_idx"}).join(one, on="unit_idx", maintain_order="left")
    told = told.join(
        named.with_columns(mine=pl.lit(True)),
        left_on=["positions", "position"],
        right_on=["text", "position"],
        how="left",
        maintain_order="left",
    ).with_columns(mine=pl.col("mine").fill_null(False))
    split_units = _own_batch(each, batches).drop("unit_idx", "alone")
    split = _own_batch(_rewrite(told), batches).drop("unit_idx", "position", "alone", "mine")
    without = units.join(known, on="model", how="anti")
    return split_units, split, without


def only_named(units: pl.DataFrame, placed: pl.DataFrame) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Units of which a report or a batch names a position, and their reports."""
    several = pl.col("batch").str.contains(":", literal=True).fill_null(value=False)
    every = pl.col("positions").str.strip_chars().str.to_lowercase() == "all"
    told = placed.filter((pl.col("positions").is_not_null() & ~every) | several).select("idx")
    made = units.filter(several).select("idx")
    kept = pl.concat([told, made]).unique()
    units, placed = (
        frame.join(kept, on="idx", how="semi", maintain_order="left") for frame in (units, placed)
    )
    return units, placed


def _named(texts: pl.Series) -> pl.DataFrame:
    """Positions that each text names: text, position. `all` names none."""
    return (
        pl.DataFrame({"text": texts.drop_nulls().unique().sort()}, schema={"text": pl.String})
        .with_columns(position=pl.col("text").str.split(";"))
        .explode("position")
        .with_columns(pl.col("position").str.strip_chars())
        .filter((pl.col("position") != "") & (pl.col("position").str.to_lowercase() != "all"))
        .unique()
        .sort("text", "position")
    )


def _known_positions(
    units: pl.DataFrame,
    placed: pl.DataFrame,
    positions: pl.DataFrame,
    named: pl.DataFrame,
    batches: pl.DataFrame,
) -> pl.DataFrame:
    """model, position, alone (it is the model's only one)."""
    models = units.select("idx", "model")
    told = (
        placed.select("idx", text="positions")
        .join(models, on="idx")
        .select("model", "text")
        .unique()
        .join(named, on="text")
    )
    parts = batches.drop_nulls("position").select("text", "position")
    factory = units.select("model", text="batch").unique().join(parts, on="text")
    fitted = (
        placed.select("idx", text="batch")
        .drop_nulls()
        .join(models, on="idx")
        .select("model", "text")
        .unique()
        .join(parts, on="text")
    )
    columns = ["model", "position"]
    return (
        pl.concat([frame.select(columns) for frame in (positions, told, factory, fitted)])
        .unique()
        .sort(columns)
        .with_columns(alone=pl.len().over("model") == 1)
    )


def _own_batch(frame: pl.DataFrame, batches: pl.DataFrame) -> pl.DataFrame:
    """Put the batch that a text names for the row's position in place of the text."""
    several = batches.drop_nulls("position").rename({"batch": "own"})
    texts = several.select("text", several=pl.lit(True)).unique()
    return (
        frame.join(
            several,
            left_on=["batch", "position"],
            right_on=["text", "position"],
            how="left",
            maintain_order="left",
        )
        .join(texts, left_on="batch", right_on="text", how="left", maintain_order="left")
        .with_columns(batch=pl.when("several").then("own").otherwise("batch"))
        .drop("own", "several")
    )


def _rewrite(told: pl.DataFrame) -> pl.DataFrame:
    kind = pl.col("kind")
    others = kind.is_in(REPLACING) & ~pl.col("whole") & ~pl.col("mine") & (kind != "board_swapped")
    blamed = (kind == "failed") & (pl.col("cause") != "other")
    # As `repaired` it follows a failure of the same day: the machine ran after the recap.
    return told.with_columns(
        kind=pl.when(others).then(pl.lit("repaired")).otherwise("kind"),
        cause=pl.when(blamed & pl.col("whole") & ~pl.col("alone"))
        .then(pl.lit("masked"))
        .when(blamed & ~pl.col("whole") & ~pl.col("mine"))
        .then(pl.lit("other"))
        .otherwise("cause"),
        whole=pl.lit(True),
    )
