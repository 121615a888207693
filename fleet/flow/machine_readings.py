"""Readings of one machine by position over time, each against its limit.

METHODS: readings
"""

import polars as pl

MACHINE_READINGS = pl.Schema(
    {
        "position": pl.String(),
        "on": pl.Date(),  # latest day of its date
        "date": pl.String(),
        "stage": pl.String(),  # before, after, check
        "esr_ohm": pl.Float64(),
        "esr_limit": pl.Float64(),  # largest that passes, ohm; null: none is known
        "esr_share": pl.Float64(),  # of the limit: above 1 fails
        "farads": pl.Float64(),
        "least_farads": pl.Float64(),  # smallest that passes
        "farads_share": pl.Float64(),  # of the least: below 1 fails
        "volts_positive": pl.Float64(),
        "volts_negative": pl.Float64(),
        "in_circuit": pl.Boolean(),
        "verdict": pl.String(),  # bad, good; null: the reading does not say
        "instrument": pl.String(),
        "record": pl.String(),
    }
)
_FACTS = ("esr_ohm", "capacitance", "voltage")


def machine_readings(
    readings: pl.DataFrame, positions: pl.DataFrame, model: str | None
) -> pl.DataFrame:
    """MACHINE_READINGS of a machine of `model`; readings of its hour meter are left out.

    Limits are those written beside the reading, else they come from the facts of the position.
    """
    from fleet.capacitors import judge_readings
    from fleet.capacitors.measured import esr_limit, least_capacitance
    from fleet.capacitors.values import farads

    facts = (
        positions.filter(pl.col("model") == model)
        .unique("position", keep="first", maintain_order=True)
        .select(
            "position",
            *(pl.col(name).alias(f"fact_{name}") for name in _FACTS),
            fact_polarity="polarity_note",
        )
    )
    known = readings.filter(pl.col("position") != "hours").join(
        facts, on="position", how="left", maintain_order="left"
    )
    used = pl.col("limit_used")
    return (
        judge_readings(known)
        .with_columns(
            on=pl.coalesce("date_latest", "date_earliest"),
            esr_limit=esr_limit(used, pl.col("fact_esr_ohm")),
            farads=farads(pl.col("capacitance")),
            least_farads=least_capacitance(used, farads(pl.col("fact_capacitance"))),
        )
        .with_columns(
            esr_share=pl.col("esr_ohm") / pl.col("esr_limit"),
            farads_share=pl.col("farads") / pl.col("least_farads"),
        )
        .with_columns(
            pl.when(pl.col(name).is_finite()).then(name).alias(name)
            for name in ("esr_share", "farads_share")
        )
        .select(pl.col(name).cast(dtype) for name, dtype in MACHINE_READINGS.items())
        .sort("position", "on", _stage_order(), "record", nulls_last=True)
    )


def readings_words(readings: pl.DataFrame) -> tuple[str, ...]:
    """What the readings say: how many beyond their limits the last time each was measured."""
    if readings.is_empty():
        return ()
    last = readings.group_by("position", maintain_order=True).last()
    judged_bad = pl.col("verdict") == "bad"
    bad = last.filter(judged_bad & (pl.col("stage") != "before"))["position"].to_list()
    out = last.filter(judged_bad & (pl.col("stage") == "before"))["position"].to_list()
    open_ = last.filter(pl.col("verdict").is_null())["position"].to_list()
    count = last.height
    where = "position" if count == 1 else "positions"
    said = [f"{readings.height} readings at {count} {where}."]
    if bad:
        verb = "was" if len(bad) == 1 else "were"
        said.append(f"When last measured, {', '.join(bad)} {verb} beyond the limit.")
    if out:
        parts = "the part at" if len(out) == 1 else "the parts at"
        said.append(
            f"Before the work {parts} {', '.join(out)} read beyond the limit; nothing was read "
            "there after it."
        )
    if not bad and not out:
        said.append("None was beyond its limit when last measured.")
    if open_:
        said.append(
            f"{', '.join(open_)}: no limit is known, or the reading does not say "
            "whether the part is good."
        )
    return tuple(said)


def _stage_order() -> pl.Expr:
    return pl.col("stage").replace_strict(
        {"check": 0, "before": 1, "after": 2}, default=0, return_dtype=pl.Int64
    )
