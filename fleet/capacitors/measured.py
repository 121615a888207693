"""Readings of capacitors held against their limits. METHODS: readings.

Measuring is done with the machine unplugged and every large capacitor proved discharged.
"""

import polars as pl

from fleet.capacitors.values import farads

# An endurance table of aluminium electrolytics ends at 200 % of the first loss and at 20 % of
# capacitance lost (a maker's datasheet; makers' "useful life" is looser, 300 % and 30 %).
ESR_TIMES = 2.0
CAPACITANCE_LOST = 0.2
REVERSED = 1.0  # volts the wrong way round that count as reversed; our own rule

_COUNTS = {"twice": 2.0, "double": 2.0, "two times": 2.0, "thrice": 3.0, "three times": 3.0}


def esr_limit(limit_used: pl.Expr, fresh: pl.Expr) -> pl.Expr:
    """Largest ESR that passes, in ohms: `limit_used` if it says ohms or times, else twice `fresh`.

    Read are `0.5 ohm`, `0.5 Ω`, `twice a fresh part`, `3 x`, `300 %`. Null where there is none.
    """
    text = limit_used.fill_null("").str.to_lowercase().str.replace_all(",", ".", literal=True)
    ohms = text.str.extract(r"(\d+(?:\.\d+)?)\s*(?:ohms?|[ΩωΩ])").cast(pl.Float64)
    milli = text.str.extract(r"(\d+(?:\.\d+)?)\s*m(?:ohms?|[ΩωΩ])").cast(pl.Float64) / 1000.0
    times = text.str.extract(r"(\d+(?:\.\d+)?)\s*(?:x\b|×|times)").cast(pl.Float64)
    percent = text.str.extract(r"(\d+(?:\.\d+)?)\s*%").cast(pl.Float64) / 100.0
    word = pl.coalesce(
        pl.when(text.str.contains(name, literal=True)).then(value)
        for name, value in _COUNTS.items()
    )
    factor = pl.coalesce(times, word, pl.when(percent >= 1.0).then(percent), pl.lit(ESR_TIMES))
    return pl.coalesce(milli, ohms, factor * fresh)


def least_capacitance(limit_used: pl.Expr, marked: pl.Expr) -> pl.Expr:
    """Smallest capacitance that passes, of what is `marked`: a fifth may be lost.

    A percentage in `limit_used` says otherwise: up to 50 what may be lost, up to 100 what must be
    left.
    """
    text = limit_used.fill_null("").str.replace_all(",", ".", literal=True)
    said = text.str.extract(r"(\d+(?:\.\d+)?)\s*%").cast(pl.Float64) / 100.0
    left = pl.when(said <= 0.5).then(1.0 - said).when(said < 1.0).then(said)
    return marked * pl.coalesce(left, pl.lit(1.0 - CAPACITANCE_LOST))


def judge_readings(readings: pl.DataFrame) -> pl.DataFrame:
    """Readings with `verdict`: bad, good, or null where they do not say.

    Needs esr_ohm, capacitance, volts_positive, volts_negative, limit_used and the facts of the
    position as fact_esr_ohm, fact_capacitance, fact_voltage, fact_polarity (null: unknown).

    Bad: ESR above its limit, capacitance below its, more volts across it than it is made for, or
    volts the wrong way round. Good: ESR within its limit and nothing bad. Capacitance alone does
    not clear a part, as ESR goes first; nor do volts.
    """
    esr = pl.col("esr_ohm") > esr_limit(pl.col("limit_used"), pl.col("fact_esr_ohm"))
    held, marked = farads(pl.col("capacitance")), farads(pl.col("fact_capacitance"))
    low = held < least_capacitance(pl.col("limit_used"), marked)
    some = pl.col("volts_positive").is_not_null() | pl.col("volts_negative").is_not_null()
    across = pl.col("volts_positive").fill_null(0.0) - pl.col("volts_negative").fill_null(0.0)
    two_ways = pl.col("fact_polarity").fill_null("").str.contains("(?i)non.?polar|bipolar")
    over = some & (across.abs() > pl.col("fact_voltage"))
    wrong = some & ~two_ways & (across < -REVERSED)
    bad = pl.any_horizontal(c.fill_null(value=False) for c in (esr, low, over, wrong))
    return readings.with_columns(
        verdict=pl.when(bad).then(pl.lit("bad")).when(~esr).then(pl.lit("good"))
    )
