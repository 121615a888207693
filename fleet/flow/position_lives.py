"""Board lives with the positions that each failure may have been at. METHODS: culprits."""

from collections.abc import Mapping
from dataclasses import dataclass

import polars as pl

from fleet.flow.culprits import culprits, named_positions
from fleet.flow.position_readings import judged_before, weigh
from fleet.frames import LIFE


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class PositionLives:
    """What `fits.fit_causes` reads, and what a reader has to know of it.

    `lives`: LIFE, model, candidates, weights, at_risk. `positions`: model, position. `judged`:
    the readings that say something (see `judged_before`). `failures`: one row for each failed row
    with unit, model, count, told, against, weighed, cleared_all and how many `suspects` it has.
    """

    lives: pl.DataFrame
    positions: pl.DataFrame
    judged: pl.DataFrame
    failures: pl.DataFrame


def position_lives(
    boards: pl.DataFrame,
    each: pl.DataFrame,
    records: Mapping[str, pl.DataFrame],
    *,
    use_readings: bool = True,
) -> PositionLives:
    """Join board lives with what reports and readings say of the culprit.

    `boards`: lives of whole sets of boards (frames.LIVES), `each`: lives by position of all
    boards of which something names a position. `records`: positions, units, reports and readings
    as known.
    """
    found = culprits(boards, records["reports"])
    facts = boards.with_row_index("row").select(
        pl.col("row").cast(pl.Int64), "unit", "model", "count"
    )
    found = found.join(facts, on="row", how="left", maintain_order="left")
    listed = [
        records["positions"].select("model", "position"),
        each.select("model", "position"),
        found.select("model", position="candidates").explode("position"),
    ]
    positions = pl.concat(listed).drop_nulls().unique()
    positions = _in_order(positions.join(boards.select("model").unique(), on="model", how="semi"))
    whole = positions.group_by("model").agg(everything=pl.col("position").sort())
    found = found.join(whole, on="model", how="inner", maintain_order="left").with_columns(
        candidates=pl.coalesce("candidates", "everything")
    )
    judged = judged_before(records["readings"], records["positions"], records["units"])
    found = weigh(found, judged if use_readings else judged.clear())
    marked = (
        boards.with_row_index("row")
        .with_columns(pl.col("row").cast(pl.Int64))
        .join(positions.select("model").unique(), on="model", how="semi", maintain_order="left")
        .join(found.select("row", "candidates", "weights"), on="row", how="left",
              maintain_order="left")
        .with_columns(at_risk=pl.lit(None, pl.List(pl.String)))
    )  # fmt: skip
    columns = [*LIFE, "model", "candidates", "weights", "at_risk"]
    lives = pl.concat([marked.select(columns), _went_on(boards, each).select(columns)])
    failures = found.with_columns(suspects=pl.col("candidates").list.len()).select(
        "row", "unit", "model", "count", "told", "against", "weighed", "cleared_all", "suspects"
    )
    return PositionLives(lives=lives, positions=positions, judged=judged, failures=failures)


def _in_order(positions: pl.DataFrame) -> pl.DataFrame:
    """By model, then C2 before C10."""
    number = pl.col("position").str.extract(r"(\d+)").cast(pl.Int64, strict=False)
    return positions.sort(
        "model", pl.col("position").str.extract(r"^(\D*)"), number, "position", nulls_last=True
    )


def _went_on(boards: pl.DataFrame, each: pl.DataFrame) -> pl.DataFrame:
    """What original positions lived after their board's first set ended in part only.

    Rows by position of the factory set, entering at the age at which the board's row ends. Boards
    of which a part only is a failure (unknown cause) are left as they are.
    """
    first = (
        boards.filter(pl.col("set_no") == 1)
        .with_columns(rows=pl.len().over("unit"))
        .filter((pl.col("rows") == 1) & (pl.col("count") == 1.0))
        .select("unit", ended=pl.coalesce("high", "low"))
    )
    listed = pl.concat_list("position")
    return (
        each.filter((pl.col("set_no") == 1) & pl.col("known_by").is_null())
        .join(first, on="unit", how="inner", maintain_order="left")
        .filter(pl.col("low") > pl.col("ended"))
        .with_columns(
            entry=pl.max_horizontal("entry", "ended"),
            candidates=pl.when(pl.col("high").is_not_null()).then(listed),
            weights=pl.lit(None, pl.List(pl.Float64)),
            at_risk=listed,
        )
    )


__all__ = ["PositionLives", "named_positions", "position_lives"]
