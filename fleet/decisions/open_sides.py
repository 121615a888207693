"""Regions without an edge on some side: the limit on that side is unknown, never a number."""

import polars as pl

_KEY = ["model", "batch", "parts"]


def open_sides(priced: pl.DataFrame, regions: pl.DataFrame) -> pl.DataFrame:
    """For each estimate (numbered), whether its region is open towards a flat or a steep life.

    Columns: estimate, open_flat, open_steep. Open sides are those where the shape has no limit.
    Where the regions say in a column open (true, or words) which of them are open, the others
    are closed; an open one with both limits of the shape is taken as open on both sides.
    """
    flat, steep = pl.col("shape_low").is_null(), pl.col("shape_high").is_null()
    if "open" not in regions.columns:
        return priced.select("estimate", open_flat=flat, open_steep=steep)
    says = pl.col("open")
    if regions.schema["open"] == pl.String:
        says = says.str.len_chars() > 0
    told = regions.group_by(_KEY).agg(says.cast(pl.Boolean).fill_null(False).any().alias("_open"))
    is_open = pl.col("_open").fill_null(False)
    return priced.join(told, on=_KEY, how="left", nulls_equal=True, maintain_order="left").select(
        "estimate", open_flat=is_open & (flat | ~steep), open_steep=is_open & (steep | ~flat)
    )


def without_open_limits(units: pl.DataFrame) -> pl.DataFrame:
    """`units` with the limits on open sides taken away.

    Towards a flat life the chance may be as low, and the best age as late, as one likes; towards
    a steep one the failure may be sure or ruled out, and the best age may come earlier.
    """
    flat, steep = pl.col("open_flat").fill_null(False), pl.col("open_steep").fill_null(False)
    return units.with_columns(
        pl.when(~flat & ~steep).then("p_fail_low"),
        pl.when(~steep).then("p_fail_high"),
        pl.when(~steep).then("best_low"),
        pl.when(~flat).then("best_high"),
    )
