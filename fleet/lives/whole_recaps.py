"""Which recaps renew the whole set: those of `all`, and those that name every place on record."""

import polars as pl

_FEWEST = 2  # places a model must have on record: a list of one place is no list of its board


def mark_whole(reports: pl.DataFrame, units: pl.DataFrame, positions: pl.DataFrame) -> pl.DataFrame:
    """Reports (idx, positions) with `whole`: blank, `all`, or every place of the unit's model.

    `units`: idx, model. `positions`: as entered; places with a safety class are no electrolytics
    and need not be named. Rule 1.
    """
    text = pl.col("positions").str.strip_chars()
    said = pl.col("positions").is_null() | text.str.to_lowercase().is_in(["", "all"])
    reports = reports.with_columns(whole=said)
    listed = reports.filter(~said & text.str.contains(";")).select("idx", "positions").unique()
    if listed.is_empty() or positions.is_empty():
        return reports
    places = (
        positions.filter(pl.col("safety_class").is_null())
        .group_by("model")
        .agg(places=pl.col("position").str.strip_chars().str.to_lowercase().unique())
        .filter(pl.col("places").list.len() >= _FEWEST)
    )
    named = text.str.to_lowercase().str.split(";").list.eval(pl.element().str.strip_chars())
    every = (
        listed.join(units.select("idx", "model").unique("idx"), on="idx")
        .join(places, on="model")
        .filter(pl.col("places").list.set_difference(named).list.len() == 0)
        .select("idx", "positions", every=pl.lit(value=True))
    )
    return (
        reports.join(every, on=["idx", "positions"], how="left", maintain_order="left")
        .with_columns(whole=pl.col("whole") | pl.col("every").fill_null(value=False))
        .drop("every")
    )
