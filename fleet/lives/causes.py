"""Rule 5: what failed, and how a failure of unknown cause is shared out."""

from typing import Literal

import polars as pl

UnknownCause = Literal["share", "capacitor", "other"]

# Below this many failures of known cause a model borrows those of its kind of appliance.
ENOUGH = 5


def find_failures(events: pl.DataFrame) -> pl.DataFrame:
    """One row for each failure: reports of it with no sight of the machine working between them.

    Columns: gid, idx, set_no, ep, record; e, l (day range), dead (found dead), lkw (last known
    working, as that report says), seen_before, implied; cause (capacitor, other, unknown,
    masked), worked_again (first day seen working after it with the same set).

    One report that says capacitor outweighs others of the same failure; so does a recap that
    answers the failure and says it was made because of one, unless it did not cure it.
    """
    because = pl.col("because").fill_null("")
    answers = pl.col("replaces") & pl.col("was_open") & (because == "failure")
    answers = answers & ~pl.col("uncured")
    implied = pl.col("implied").is_not_null()
    parts = (pl.col("kind") == "recapped") & (~pl.col("uncured") | (pl.col("implied") == "reading"))
    cause = pl.when(implied & parts).then(pl.lit("capacitor")).otherwise("cause")
    told = events.filter(pl.col("fails") | answers).with_columns(
        cause=pl.when("fails").then(cause),
        said=~pl.col("fails") & (pl.col("kind") == "recapped"),
    )
    again = events.filter(pl.col("seen").is_not_null()).select("gid", "ep", again="seen")
    one = told.group_by("gid", "ep", maintain_order=True).agg(
        *(
            pl.col(c).first()
            for c in ("idx", "set_no", "record", "e", "l", "dead", "lkw", "seen_before", "implied")
        ),
        capacitor=(pl.col("cause") == "capacitor").any(),
        other=(pl.col("cause") == "other").any(),
        masked=(pl.col("cause") == "masked").any(),
        said=pl.col("said").any(),
    )
    return (
        one.with_columns(
            cause=pl.when("capacitor")
            .then(pl.lit("capacitor"))
            .when("masked")
            .then(pl.lit("masked"))
            .when("other")
            .then(pl.lit("other"))
            .when("said")
            .then(pl.lit("capacitor"))
            .otherwise(pl.lit("unknown")),
            dead=pl.col("dead").fill_null(False),
        )
        .join(again, on=["gid", "ep"], how="left", maintain_order="left")
        .with_columns(worked_again=pl.max_horizontal("again", "e"))
        .with_columns(worked_again=pl.when(pl.col("again").is_not_null()).then("worked_again"))
        .drop("capacitor", "other", "masked", "said", "again")
    )


def share_causes(failures: pl.DataFrame, units: pl.DataFrame, how: UnknownCause) -> pl.DataFrame:
    """For each model the counts of causes and the capacitors' share of a failure of unknown cause.

    share = (1 + capacitor) / (2 + capacitor + other), of the model's failures of known cause; of
    its kind's where the model has fewer than five. From nothing known that is 1/2. `how`
    `capacitor` and `other` make it 1 and 0.

    Columns: model, capacitor, other, unknown, share. METHODS: lives
    """
    real = failures.filter(pl.col("implied").is_null() | (pl.col("implied") != "reading"))
    counts = (
        real.join(units.select("idx", "model"), on="idx")
        .group_by("model")
        .agg(
            (pl.col("cause") == c).sum().cast(pl.Int64).alias(c)
            for c in ("capacitor", "other", "unknown")
        )
    )
    models = (
        units.group_by("model")
        .agg(pl.col("kind").first())
        .join(counts, on="model", how="left")
        .with_columns(pl.col("capacitor", "other", "unknown").fill_null(0))
    )
    kinds = (
        models.drop_nulls("kind")
        .group_by("kind")
        .agg(kind_capacitor=pl.col("capacitor").sum(), kind_other=pl.col("other").sum())
    )
    few = pl.col("capacitor") + pl.col("other") < ENOUGH
    yes = pl.when(few).then(pl.coalesce("kind_capacitor", "capacitor")).otherwise("capacitor")
    no = pl.when(few).then(pl.coalesce("kind_other", "other")).otherwise("other")
    fixed = {"capacitor": 1.0, "other": 0.0}.get(how)
    share = (1 + yes) / (2 + yes + no) if fixed is None else pl.lit(fixed)
    return (
        models.join(kinds, on="kind", how="left")
        .select("model", "capacitor", "other", "unknown", share.cast(pl.Float64).alias("share"))
        .sort("model")
    )
