"""Which facts of a place are missing, so that nothing can be ordered for it yet."""

import polars as pl

from fleet.capacitors.facts import with_facts

GAPS = pl.Schema({"model": pl.String(), "position": pl.String(), "missing": pl.List(pl.String)})


def position_gaps(positions: pl.DataFrame) -> pl.DataFrame:
    """Places with facts to measure before ordering: frame GAPS, complete places left out.

    Needed are capacitance (one that can be read), voltage, temperature, lead form, and the body:
    diameter and length of the old part. Places for X and Y capacitors need no temperature: their
    class says enough; a place that by its role lies between mains lines needs its class, one that
    may carry alternating current the word which current it is.
    """
    known = with_facts(positions)
    safety = pl.col("x_class").is_not_null() | pl.col("y_class").is_not_null()
    absent = {
        "capacitance": pl.col("capacitance_f").is_null(),
        "voltage": pl.col("voltage").is_null(),
        "temperature": pl.col("temperature").is_null() & ~safety,
        "lead form": pl.col("lead_form").is_null(),
        "diameter": pl.col("diameter_mm").is_null(),
        "length": pl.col("length_mm").is_null(),
        "safety class": (pl.col("use") == "line filter").fill_null(value=False) & ~safety,
        "current": pl.col("may_be_ac"),
    }
    names = [pl.when(where).then(pl.lit(name)) for name, where in absent.items()]
    return (
        known.select("model", "position", missing=pl.concat_list(names).list.drop_nulls())
        .filter(pl.col("missing").list.len() > 0)
        .cast(GAPS)
    )
