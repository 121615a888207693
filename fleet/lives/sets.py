"""Rule 1: the sets of capacitors each unit has had, when they began, and how they stand."""

import polars as pl

from fleet.ages import middle_expr
from fleet.lives.build_dates import made_after
from fleet.lives.inputs import OPEN
from fleet.lives.runs import last_rows


def find_sets(events: pl.DataFrame, units: pl.DataFrame, batches: pl.DataFrame) -> pl.DataFrame:
    """One row for each set of each unit, in order.

    Columns: idx, set_no, gid (null where nothing was reported of it); s0, s1, sm (range of days
    in which it was fitted, and its middle; null: unknown); oldest (start of the oldest parts on
    the board); parts, batch; in_vain (it was fitted and the machine did not work), proved (first
    day seen working, by events of this set); seen (last day seen working), open (failed and not
    seen working since), down (not seen working since something was done in vain), retired; how,
    because, ended (the report that ended it: kind, reason, first day; null where none did);
    reports (ids joined by ;).
    """
    factory = units.select(
        "idx", "batch", "s0", "s1", set_no=pl.lit(1, pl.Int64), whole=pl.lit(True),
        start_record=pl.lit(None, pl.String),
    )  # fmt: skip
    sets = (
        pl.concat([factory, _fitted(events, batches)], how="diagonal")
        .sort("idx", "set_no")
        .join(_last_states(events), on=["idx", "set_no"], how="left", maintain_order="left")
        .with_columns(sm=middle_expr(pl.col("s0"), pl.col("s1")))
    )
    known = pl.col("batch").is_not_null()
    return sets.with_columns(
        oldest=_oldest(),
        parts=pl.when(pl.col("set_no") == 1)
        .then(pl.lit("original"))
        .when(~pl.col("whole"))
        .then(pl.lit("partial"))
        .when(known)
        .then(pl.lit("replaced_known"))
        .otherwise(pl.lit("replaced_unknown")),
        open=pl.col("open").fill_null(False),
        in_vain=pl.col("in_vain").fill_null(False),
        down=pl.coalesce("down", "in_vain", pl.lit(value=False)),
        retired=pl.col("retired").fill_null(False),
        reports=pl.concat_str("start_record", "records", separator=";", ignore_nulls=True),
        # Parts just fitted were seen working when they were fitted, unless somebody says not.
        seen=pl.when((pl.col("set_no") > 1) & ~pl.col("in_vain").fill_null(False))
        .then(pl.max_horizontal("seen", "s0"))
        .otherwise("seen"),
    ).drop("records", "start_record")


def _fitted(events: pl.DataFrame, batches: pl.DataFrame) -> pl.DataFrame:
    fitted = events.filter("replaces")
    made = made_after(fitted["batch"], batches).select("text", "batch_e")
    return (
        fitted.join(made, left_on="batch", right_on="text", how="left", maintain_order="left")
        .with_columns(
            known=pl.col("e") > OPEN,
            after=pl.min_horizontal(pl.max_horizontal("e", "batch_e"), "l"),
        )
        .select(
            "idx",
            "batch",
            pl.when("known").then("after").alias("s0"),
            pl.when("known").then("l").alias("s1"),
            pl.col("set_no") + 1,
            pl.col("whole") | (pl.col("kind") == "board_swapped"),
            start_record="record",
            in_vain="uncured",
        )
    )


def _last_states(events: pl.DataFrame) -> pl.DataFrame:
    """How each set stands at its last event; rows are in order."""
    last = last_rows(events, "gid")
    retired = events.filter(pl.col("kind") == "retired").select("gid", retired=True).unique()
    records = (
        events.filter(pl.col("real") & (pl.col("kind") != "note"))
        .group_by("gid", maintain_order=True)
        .agg(records="record")
        .with_columns(pl.col("records").list.join(";"))
    )
    first_seen = events.drop_nulls("seen").group_by("gid").agg(proved=pl.col("seen").min())
    ends = pl.col("replaces")
    return (
        last.select(
            "idx",
            "set_no",
            "gid",
            "open",
            "down",
            pl.max_horizontal("seen_before", "seen").alias("seen"),
            pl.when(ends).then("kind").alias("how"),
            pl.when(ends).then("because").alias("because"),
            pl.when(ends).then("e").alias("ended"),
        )
        .join(retired, on="gid", how="left", maintain_order="left")
        .join(records, on="gid", how="left", maintain_order="left")
        .join(first_seen, on="gid", how="left", maintain_order="left")
    )


def _oldest() -> pl.Expr:
    """Start of the last whole set; by row number, so that an unknown start stays unknown."""
    row = pl.int_range(pl.len(), dtype=pl.Int64)
    return pl.col("sm").gather(pl.when("whole").then(row).forward_fill())
