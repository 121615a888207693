"""Readings taken before a recap as evidence of which position failed. METHODS: readings."""

import polars as pl

# How many times likelier a reading is of the part that failed than of one that did not. Out of
# the circuit a good part is cleared. Our choice, no source; unknown counts as in circuit.
WEIGHTS = {
    ("bad", False): 5.0,
    ("good", False): 0.0,
    ("bad", True): 2.0,
    ("good", True): 0.5,
}
_FACTS = ("esr_ohm", "capacitance", "voltage")


def judged_before(
    readings: pl.DataFrame, positions: pl.DataFrame, units: pl.DataFrame
) -> pl.DataFrame:
    """Readings before a recap that say something: unit, model, position, earliest, latest,
    in_circuit, verdict (bad or good). Judged by the limit written beside them, else by the facts
    of the position.
    """
    before = readings.filter(pl.col("stage") == "before")
    return _judged(before, positions, units).select(
        "unit",
        "model",
        "position",
        earliest=pl.coalesce("date_earliest", "date_latest"),
        latest=pl.coalesce("date_latest", "date_earliest"),
        in_circuit=pl.col("in_circuit").fill_null(value=True),
        verdict="verdict",
    )


def judged_machines(
    readings: pl.DataFrame, positions: pl.DataFrame, units: pl.DataFrame
) -> pl.DataFrame:
    """Machines measured at a check, outside any job, by day: unit, model, day, bad.

    Bad if any of its parts reads bad, not if one reads good and none bad; others say nothing.
    """
    present = readings.filter(pl.col("stage").fill_null("check") == "check")
    return (
        _judged(present, positions, units)
        .with_columns(day=pl.coalesce("date_latest", "date_earliest"))
        .drop_nulls("day")
        .group_by("unit", "model", "day", maintain_order=True)
        .agg(bad=(pl.col("verdict") == "bad").any())
        .sort("unit", "day")
    )


def _judged(readings: pl.DataFrame, positions: pl.DataFrame, units: pl.DataFrame) -> pl.DataFrame:
    """Readings that say something, with model and verdict."""
    from fleet.capacitors import judge_readings

    measured = readings.filter(pl.col("position") != "hours")
    return judge_readings(with_facts(measured, positions, units)).drop_nulls("verdict")


def with_facts(
    readings: pl.DataFrame, positions: pl.DataFrame, units: pl.DataFrame
) -> pl.DataFrame:
    """Readings of known units with model and what the position asks for, as judging needs it
    (fact_esr_ohm, fact_capacitance, fact_voltage, fact_polarity; null: unknown).
    """
    facts = positions.sort("model", "position", "record").unique(
        ["model", "position"], keep="first", maintain_order=True
    )
    facts = facts.select(
        "model",
        "position",
        *(pl.col(c).alias(f"fact_{c}") for c in _FACTS),
        fact_polarity="polarity_note",
    )
    models = units.select("unit", "model").unique("unit", keep="first", maintain_order=True)
    return readings.join(models, on="unit", how="inner").join(
        facts, on=["model", "position"], how="left"
    )


def weigh(suspected: pl.DataFrame, judged: pl.DataFrame) -> pl.DataFrame:
    """Failures with `candidates` narrowed and `weights` set by readings.

    `suspected`: row, unit, candidates (names, none null), first, last. A part measured good out
    of circuit is no suspect; other readings weigh by WEIGHTS. Of several readings of a part those
    out of circuit count, then the last, then the bad. `cleared_all`: every suspect measured good,
    so that readings are not used. `weighed`: readings changed something.
    """
    each = suspected.select("row", "unit", "candidates", "first", "last").explode("candidates")
    told = (
        each.join(judged, left_on=["unit", "candidates"], right_on=["unit", "position"])
        .filter(
            (pl.col("latest") >= pl.col("first"))
            & (pl.col("last").is_null() | (pl.col("earliest") <= pl.col("last")))
        )
        .sort("row", "candidates", "in_circuit", "latest", "verdict",
              descending=[False, False, False, True, False])
        .unique(["row", "candidates"], keep="first", maintain_order=True)
        .with_columns(weight=_weight())
    )  # fmt: skip
    weighed = (
        each.join(told.select("row", "candidates", "weight"), on=["row", "candidates"], how="left")
        .with_columns(pl.col("weight").fill_null(1.0))
        .with_columns(
            cleared_all=(pl.col("weight") <= 0.0).all().over("row"),
            alone=pl.len().over("row") == 1,
        )
        .with_columns(
            weight=pl.when(pl.col("cleared_all") | pl.col("alone")).then(1.0).otherwise("weight")
        )
        .filter(pl.col("weight") > 0.0)
        .sort("row", "candidates")
        .group_by("row", maintain_order=True)
        .agg("candidates", weights="weight", cleared_all=pl.col("cleared_all").first())
    )
    before = suspected.select("row", was=pl.col("candidates").list.len())
    return (
        suspected.drop("candidates")
        .join(weighed, on="row", how="left", maintain_order="left")
        .join(before, on="row", how="left", maintain_order="left")
        .with_columns(
            weighed=(pl.col("candidates").list.len() < pl.col("was"))
            | (pl.col("weights").list.n_unique() > 1)
        )
        .drop("was")
    )


def _weight() -> pl.Expr:
    expr = pl.lit(1.0)
    for (verdict, circuit), weight in WEIGHTS.items():
        this = (pl.col("verdict") == verdict) & (pl.col("in_circuit") == circuit)
        expr = pl.when(this).then(weight).otherwise(expr)
    return expr
