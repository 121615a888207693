"""Capacitance as people print and type it, read and written back.

A text is read where it can mean one value only. Refused (null): a bare number, which may be
µF, nF or pF; `MF` and `mf`, which old sleeves print for µF and others write for mF; and `1,000uF`
or `1.000 µF`, where the mark may part thousands or decimals.
"""

import polars as pl

# The exponent is written behind the digits and both are read at once, so that 1 mF and 1000 uF
# are the very same number.
_EXPONENT = {"p": "e-12", "n": "e-9", "u": "e-6", "m": "e-3", "F": "e0"}
# Longest first: mmfd before mfd.
_NAMES = (
    ("(?i)(micro-?micro|pico)-?farads?$|(?i)(mmf|uuf)d?$", "pF"),
    ("(?i)nano-?farads?$", "nF"),
    ("(?i)micro-?farads?$|(?i)[mu]fds?$", "uF"),
    ("(?i)milli-?farads?$", "mF"),
    ("(?i)farads?$", "F"),
)
_NUMBER = r"\d+(?:\.\d+)?|\.\d+"


def farads(text: pl.Expr) -> pl.Expr:
    """Capacitance in farads of `1000µF`, `1 mF`, `4u7`, `4,7 µF`, `470n`, `22 MFD`; else null."""
    plain = text.str.replace_all(r"[\s_]", "").str.replace_all("[µμ]", "u")
    plain = plain.str.strip_suffix(".")
    for name, unit in _NAMES:
        plain = plain.str.replace(name, unit)
    thousands = plain.str.contains(r"^[1-9]\d{0,2}[.,]\d{3}(?:\D|$)")
    plain = pl.when(~thousands).then(plain.str.replace(",", ".", literal=True))
    # IEC 60062: the unit's letter in the place of the decimal mark, 4u7 or u47.
    plain = plain.str.replace(r"^(\d*)([pnumPNU])(\d+)F?$", "${1}.${3}${2}F")
    number = plain.str.extract(rf"^({_NUMBER})[pnumPNUF]")
    short = plain.str.extract(rf"^(?:{_NUMBER})([pnuPNU])[fF]?$").str.to_lowercase()
    long = plain.str.extract(rf"^(?:{_NUMBER})(m|)F$").replace("", "F")
    exponent = pl.coalesce(short, long).replace_strict(
        _EXPONENT, default=None, return_dtype=pl.String
    )
    return (number + exponent).cast(pl.Float64, strict=False)


def read_farads(text: str) -> float | None:
    """Farads of one text, or None where it is not read; the same rule as `farads`."""
    value = pl.select(farads(pl.lit(text, dtype=pl.String))).item()
    return None if value is None else float(value)


def farads_said(value: pl.Expr) -> pl.Expr:
    """Farads as text that `farads` reads back, six figures: 1000 µF, 0.47 µF, 22 nF, 0.22 F."""
    # Half a unit in the last place decides nothing here: 0.1 µF must not turn into 100 nF.
    least = value * (1.0 + 1e-9)
    return (
        pl.when(value == 0.0)
        .then(pl.lit("0 µF"))
        .when(least < 1e-9)
        .then(filled("{} pF", _digits(value * 1e12)))
        .when(least < 1e-7)
        .then(filled("{} nF", _digits(value * 1e9)))
        .when(least < 0.1)
        .then(filled("{} µF", _digits(value * 1e6)))
        .otherwise(filled("{} F", _digits(value)))
    )


def say_farads(value: float) -> str:
    """One value in farads as `farads_said` writes it."""
    return str(pl.select(farads_said(pl.lit(value, dtype=pl.Float64))).item())


def number_said(value: pl.Expr) -> pl.Expr:
    """A number as text with at most six figures and no empty decimals: 12.5, 16."""
    return value.round_sig_figs(6).cast(pl.String).str.replace(r"\.0$", "")


def filled(template: str, *values: pl.Expr) -> pl.Expr:
    """`template` with values in the places of `{}`; null where a value is.

    Not pl.format: in Polars 2.1 it panics on rows filtered out of a cross join.
    """
    pieces = template.split("{}")
    parts: list[pl.Expr] = [pl.lit(pieces[0])]
    for value, piece in zip(values, pieces[1:], strict=True):
        parts += [value, pl.lit(piece)]
    return pl.concat_str(parts)


def _digits(value: pl.Expr) -> pl.Expr:
    """As `number_said`, but 1.001 as 1.0010: three decimals could be thousands to a reader."""
    return number_said(value).str.replace(r"^([1-9]\d{0,2}\.\d{3})$", "${1}0")
