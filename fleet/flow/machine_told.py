"""What each record of a machine tells, as an event of its history."""

import polars as pl

EVENTS = pl.Schema(
    {
        "earliest": pl.Date(),  # days on which it can have been; null: nothing tells
        "latest": pl.Date(),
        "on": pl.String(),  # the date as it was told
        "what": pl.String(),  # built, enrolled, details, readings, or a kind of report
        "said": pl.String(),
        "notes": pl.String(),  # of whoever wrote it
        "standing": pl.String(),  # counts, contradicts, told twice, corrected, taken back
        "changed": pl.String(),  # of a correction: what it changed
        "corrects": pl.String(),  # the record it corrects
        "record": pl.String(),
        "kind": pl.String(),  # of the record: units, reports, readings
        "source": pl.String(),
        "by": pl.String(),
        "entered_on": pl.Date(),
    }
)
COUNTS, CONTRADICTS, TWICE = "counts", "contradicts", "told twice"
CORRECTED, TAKEN_BACK = "corrected", "taken back"
_NO_MORE = (CORRECTED, TAKEN_BACK)
_STAGES = {"before": "before the work", "after": "after the work", "check": "as a check"}


def cast(name: str) -> pl.Expr:
    """A column of EVENTS in its type."""
    return pl.col(name).cast(EVENTS[name])


def plain_number(name: str) -> pl.Expr:
    """A number column as text, whole ones without a point."""
    return pl.col(name).cast(pl.String).str.replace(r"\.0$", "")


def unit_events(rows: pl.DataFrame) -> pl.DataFrame:
    """Built, enrolled, and every other version of the record of the machine."""
    stands = rows.filter(~pl.col("standing").is_in(_NO_MORE))
    other = pl.concat([rows.filter(pl.col("standing").is_in(_NO_MORE)),
                       stands.filter(pl.col("changed").is_not_null())])  # fmt: skip
    shared = ("standing", "record", "source", "by", "entered_on")
    kind = pl.lit("units").alias("kind")
    why = pl.col("enrolled_because").replace_strict(
        {"working": "it worked", "failed": "because it had failed"}, default=None
    )
    nothing = [pl.lit(None, pl.String).alias(c) for c in ("notes", "changed", "corrects")]
    built = stands.select(
        pl.col("manufactured_earliest").alias("earliest"),
        pl.col("manufactured_latest").alias("latest"),
        pl.col("manufactured").fill_null("not told").alias("on"),
        pl.lit("built").alias("what"),
        pl.concat_str(
            pl.col("model"), pl.format("batch {}", "batch"), separator=", ", ignore_nulls=True
        ).alias("said"),
        *nothing, *shared, kind,
    )  # fmt: skip
    enrolled = stands.filter(pl.col("enrolled_on").is_not_null()).select(
        pl.col("enrolled_on_earliest").alias("earliest"),
        pl.col("enrolled_on_latest").alias("latest"),
        pl.col("enrolled_on").alias("on"),
        pl.lit("enrolled").alias("what"),
        pl.concat_str(
            pl.lit("since then in these records"), why, separator="; ", ignore_nulls=True
        ).alias("said"),
        pl.col("notes"), *nothing[1:], *shared, kind,
    )  # fmt: skip
    details = other.select(
        pl.col("entered_on").alias("earliest"), pl.col("entered_on").alias("latest"),
        pl.col("entered_on").cast(pl.String).alias("on"),
        pl.lit("details").alias("what"),
        pl.when(pl.col("changed").is_not_null()).then(pl.lit("what is known of the machine"))
        .otherwise(pl.lit("an earlier version of what is known of the machine")).alias("said"),
        pl.lit(None, pl.String).alias("notes"), pl.col("changed"),
        pl.col("supersedes").alias("corrects"), *shared, kind,
    )  # fmt: skip
    parts = [part.select(cast(name) for name in EVENTS) for part in (built, enrolled, details)]
    return pl.concat(parts)


def report_events(rows: pl.DataFrame) -> pl.DataFrame:
    """What each report says, in the order in which it is asked."""
    said = [
        pl.col("cause").replace_strict(
            {"capacitor": "a capacitor", "other": "something else", "unknown": "cause unknown"},
            default=None,
        ),
        pl.col("because").replace_strict(
            {
                "planned": "planned, still working before",
                "failure": "because it had failed",
                "reading": "because of a reading, still working before",
            },
            default=None,
        ),
        pl.when(pl.col("positions").str.strip_chars().str.to_lowercase() == "all")
        .then(pl.lit("all positions"))
        .otherwise(pl.format("positions {}", pl.col("positions").str.replace_all(";", ", "))),
        pl.format("parts of batch {}", "batch"),
        pl.col("symptom"),
        pl.when(pl.col("found_dead")).then(pl.lit("found dead, nobody saw it fail")),
        pl.format("last known working {}", "last_known_working"),
        pl.when(pl.col("cured"))
        .then(pl.lit("it worked afterwards"))
        .when(~pl.col("cured"))
        .then(pl.lit("it did not work afterwards")),
    ]
    return rows.select(
        pl.col("date_earliest").alias("earliest"),
        pl.coalesce("date_latest", "entered_on").alias("latest"),
        pl.col("date").alias("on"),
        pl.col("kind").alias("what"),
        pl.concat_str(said, separator="; ", ignore_nulls=True).alias("said"),
        "notes", "standing", "changed",
        pl.col("supersedes").alias("corrects"), "record",
        pl.lit("reports").alias("kind"), "source", "by", "entered_on",
    )  # fmt: skip


def reading_events(rows: pl.DataFrame) -> pl.DataFrame:
    """Readings of one day, stage and standing as one event, with `stage`."""
    measured = pl.concat_str(
        pl.format("ESR {} Ω", plain_number("esr_ohm")),
        pl.when(pl.col("position") == "hours")
        .then(pl.format("{} h", "capacitance"))
        .otherwise("capacitance"),
        pl.format("{} V at +", plain_number("volts_positive")),
        pl.format("{} V at −", plain_number("volts_negative")),
        separator=", ",
        ignore_nulls=True,
    )
    stage = pl.col("stage").replace_strict(_STAGES, default=None, return_dtype=pl.String)
    together = ("date", "date_earliest", "date_latest", "stage", "standing")
    return (
        rows.with_columns(each=pl.format("{} {}", "position", measured))
        .sort("position", "record")
        .group_by(together, maintain_order=True)
        .agg(
            pl.col("each").str.join("; "),
            pl.col("changed").drop_nulls().str.join("; "),
            pl.col("supersedes").drop_nulls().str.join(";"),
            pl.col("record").str.join(";"),
            pl.col("source", "by", "entered_on").first(),
        )
        .select(
            pl.col("date_earliest").alias("earliest"),
            pl.coalesce("date_latest", "entered_on").alias("latest"),
            pl.col("date").alias("on"),
            pl.lit("readings").alias("what"),
            pl.concat_str(stage, "each", separator=": ", ignore_nulls=True).alias("said"),
            pl.lit(None, pl.String).alias("notes"),
            "standing",
            pl.col("changed").replace("", None),
            pl.col("supersedes").replace("", None).alias("corrects"),
            "record",
            pl.lit("readings").alias("kind"),
            "source",
            "by",
            "entered_on",
            pl.col("stage").fill_null("check"),
        )
    )
