"""Rule 2 and 3: when and why each unit came to be known."""

import polars as pl

from fleet.ages import middle_expr
from fleet.lives.history import order_key
from fleet.lives.runs import first_rows


def settle_enrolment(units: pl.DataFrame, placed: pl.DataFrame) -> pl.DataFrame:
    """Units with `enrolled` (day; null where nothing tells it), `because` (working or failed) and
    `guessed` (the reason was blank).

    A blank day is that of the first report. A blank reason is `failed` where the first report is
    a failure on or before that day, else `working`. A day known as a range ends at the first
    report within it, and its middle is used.
    """
    blank = pl.col("enr_l").is_null() | pl.col("enrolled_because").is_null()
    first = (
        placed.join(units.filter(blank).select("idx"), on="idx", how="semi")
        .sort(order_key())
        .select("idx", first_kind="kind", first_e="e", first_l="l")
    )
    first = first_rows(first, "idx")
    out = units.join(first, on="idx", how="left", maintain_order="left").with_columns(
        enr_e=pl.coalesce("enr_e", "first_e"),
        enr_l=pl.coalesce("enr_l", "first_l"),
        guessed=pl.col("enrolled_because").is_null(),
    )
    early = pl.col("first_e") <= pl.col("enr_l")
    failed = ((pl.col("first_kind") == "failed") & early).fill_null(False)
    vague = out.filter(pl.col("enr_e") < pl.col("enr_l")).select("idx", "enr_e")
    within = (
        placed.join(vague, on="idx")
        .filter(pl.col("l") >= pl.col("enr_e"))
        .group_by("idx")
        .agg(told_by=pl.col("l").min())
    )
    return (
        out.join(within, on="idx", how="left", maintain_order="left")
        .with_columns(
            because=pl.coalesce(
                "enrolled_because",
                pl.when(failed).then(pl.lit("failed")).otherwise(pl.lit("working")),
            ),
            enrolled=middle_expr(pl.col("enr_e"), pl.min_horizontal("enr_l", "told_by")),
        )
        .drop("first_kind", "first_e", "first_l", "told_by")
    )


def find_observed(units: pl.DataFrame, failures: pl.DataFrame) -> pl.DataFrame:
    """The failure that made a unit enrolled `failed` known: idx, known_set, known_ep.

    It is the last failure begun by the day of enrolment; where there is none, the first after it.
    Failures that only a reading stands for do not count.
    """
    enrolled = units.filter(pl.col("because") == "failed").select("idx", "enr_l")
    return (
        failures.filter(pl.col("implied").is_null() | (pl.col("implied") != "reading"))
        .select("idx", "set_no", "ep", "e")
        .join(enrolled, on="idx")
        .with_columns(late=pl.col("e") > pl.col("enr_l"))
        .with_columns(
            # Among those not late the last comes first, among the late ones the first.
            place=pl.when("late")
            .then(pl.int_range(pl.len()).over("idx"))
            .otherwise(-pl.int_range(pl.len()).over("idx"))
        )
        .sort("idx", "late", "place")
        .unique("idx", keep="first", maintain_order=True)
        .select("idx", known_set="set_no", known_ep="ep")
    )
