"""Rule 7: the range of days in which each unit was built, narrowed by what else is known."""

import polars as pl

from fleet.lives.inputs import Known


def batch_parts(texts: pl.Series) -> pl.DataFrame:
    """What each batch text names: columns text, position (null: all of them), batch.

    `B7` is one batch for every position; `C1:B7;C4:B9` is one for each position named.
    """
    parts = (
        pl.DataFrame({"text": texts.drop_nulls().unique().sort()}, schema={"text": pl.String})
        .with_columns(part=pl.col("text").str.split(";"))
        .explode("part")
        .with_columns(pl.col("part").str.strip_chars())
        .filter(pl.col("part") != "")
        .with_columns(pair=pl.col("part").str.splitn(":", 2))
        .unnest("pair")
    )
    several = pl.col("field_1").is_not_null()
    return parts.select(
        "text",
        pl.when(several).then(pl.col("field_0").str.strip_chars()).alias("position"),
        pl.when(several)
        .then(pl.col("field_1").str.strip_chars())
        .otherwise(pl.col("field_0"))
        .alias("batch"),
    )


def made_after(texts: pl.Series, batches: pl.DataFrame) -> pl.DataFrame:
    """Earliest day on which all batches that a text names were made: text, batch_e, batch_record.
    Texts without a dated batch are missing.
    """
    return (
        batch_parts(texts)
        .join(
            batches.select(
                "batch",
                batch_e=pl.col("made_earliest"),
                batch_record=pl.col("record"),
            ).drop_nulls("batch_e"),
            on="batch",
        )
        .sort("text", "batch_e", "batch_record")
        .unique("text", keep="last", maintain_order=True)
        .select("text", "batch_e", "batch_record")
    )


def narrow_builds(known: Known) -> pl.DataFrame:
    """Units with the range of their build days, s0 to s1; both null where nothing bounds it below.

    A machine is not older than its parts nor than its model, not younger than its model's last
    year, and was there at its first report and at enrolment. Further columns: batch_e,
    batch_record, first_made, last_made, model_record, kind (of appliance), for saying what
    disagrees with what.
    """
    models = known.models.group_by("model", maintain_order=True).agg(
        # Revisions of a model are one model here: the widest span of years.
        first_made=pl.when(pl.col("first_made_earliest").is_not_null().all()).then(
            pl.col("first_made_earliest").min()
        ),
        last_made=pl.when(pl.col("last_made_latest").is_not_null().all()).then(
            pl.col("last_made_latest").max()
        ),
        model_record=pl.col("record").first(),
        kind=pl.col("kind").drop_nulls().first(),
    )
    made = made_after(known.units["batch"], known.batches)
    return (
        known.units.join(models, on="model", how="left", maintain_order="left")
        .join(made, left_on="batch", right_on="text", how="left", maintain_order="left")
        .with_columns(
            s0=pl.max_horizontal("manu_e", "batch_e", "first_made"),
            s1=pl.min_horizontal("manu_l", "last_made", "made_by"),
        )
        .with_columns(s1=pl.when(pl.col("s0").is_not_null()).then("s1"))
        .with_columns(s0=pl.when(pl.col("s1").is_not_null()).then("s0"))
    )
