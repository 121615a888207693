"""Facts of places, parts and the bench that cannot be, each in a sentence.

Bounds are our own, and wide.
"""

import polars as pl

_MOST_FARADS = 10.0  # of a part on an appliance's board
_MOST_VOLTS = 100_000
_MOST_LEAD_DAYS = 1000
_MOST_HOURS_A_MONTH = 744  # 31 days
_SIZES = ("diameter_mm", "length_mm", "lead_spacing_mm")
_UNITS = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "μ": 1e-6, "m": 1e-3, "": 1.0}
# What is printed on cans, and ? for a sign that cannot be read.
_NO_CODE = r"[^A-Za-z0-9 ./\\_+*()#:;,'?-]"


def of_place() -> list[pl.Expr]:
    """Reasons, or null, for the facts of a position."""
    return [*_capacitance(), *of_rated_volts(), *(_zero(name, "mm") for name in _SIZES)]


def of_offer() -> list[pl.Expr]:
    """Reasons, or null, for an offer."""
    days = pl.col("lead_days")
    return [
        *of_place(),
        *date_code(),
        _zero("price_from_quantity", "pieces"),
        pl.when(days > _MOST_LEAD_DAYS).then(
            pl.format(f"lead_days {{}} is above {_MOST_LEAD_DAYS:,}; correct it", days)
        ),
    ]


def of_rated_volts() -> list[pl.Expr]:
    """Reasons, or null, for a rated voltage."""
    volts = pl.col("voltage")
    return [
        _zero("voltage", "V"),
        pl.when(volts > _MOST_VOLTS).then(
            pl.format(f"voltage {{}} is above {_MOST_VOLTS:,} V; correct it", volts)
        ),
    ]


def of_shop() -> list[pl.Expr]:
    """Reasons, or null, for what the bench can do."""
    hours = pl.col("bench_hours_per_month")
    return [
        pl.when(hours > _MOST_HOURS_A_MONTH).then(
            pl.format(
                "bench_hours_per_month {} is more than the {} hours of a month; correct it",
                hours,
                pl.lit(_MOST_HOURS_A_MONTH),
            )
        )
    ]


def date_code() -> list[pl.Expr]:
    """A reason, or null, for a date code with signs that are on no can."""
    code = pl.col("date_code")
    return [
        pl.when(code.str.contains(_NO_CODE)).then(
            pl.format(
                "date_code '{}' holds '{}', which no can carries; write what is printed on it",
                code,
                code.str.extract(f"({_NO_CODE})"),
            )
        )
    ]


def _zero(name: str, unit: str) -> pl.Expr:
    return pl.when(pl.col(name) == 0).then(
        pl.lit(f"{name} is 0 {unit}; give a number above zero, or leave it blank if unknown")
    )


def _capacitance() -> list[pl.Expr]:
    """Only what is plainly no value; a spelling that is not read is asked about later."""
    text = pl.col("capacitance")
    read = text.str.replace_all(r"\s", "").str.extract_groups(
        r"^(?<number>-?\d*\.?\d+(?:[eE][+-]?\d+)?)(?<unit>[pnuµμm]?)F?$"
    )
    number = read.struct.field("number").cast(pl.Float64, strict=False)
    times = read.struct.field("unit").replace_strict(_UNITS, default=None, return_dtype=pl.Float64)
    has_unit = text.str.contains(r"[pnuµμmF]\s*$")
    below = text.str.contains(r"^\s*[-−]\s*[\d.]")
    no_number = text.str.contains(r"(?i)^\s*[-+]?(nan|inf(inity)?)\s*([pnuµμm]?f)?\s*$")
    return [
        pl.when(below).then(pl.format("capacitance {} is below zero; correct it", text)),
        pl.when(no_number).then(pl.format("capacitance {} is no number; correct it", text)),
        pl.when(has_unit & (number == 0)).then(
            pl.format("capacitance {} is zero; leave it blank if unknown", text)
        ),
        pl.when(has_unit & (number * times > _MOST_FARADS)).then(
            pl.format(
                f"capacitance {{}} is above {_MOST_FARADS:g} F; see its unit and correct it", text
            )
        ),
    ]
