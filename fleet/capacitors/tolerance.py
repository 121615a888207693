"""Tolerance of a capacitance as printed: `20%`, `±20 %`, `M`, `-10/+50`."""

import polars as pl

# IEC 60062, letters for tolerances in per cent (from memory): below, above.
_LETTERS: dict[str, tuple[float, float]] = {
    "B": (0.1, 0.1),
    "C": (0.25, 0.25),
    "D": (0.5, 0.5),
    "F": (1.0, 1.0),
    "G": (2.0, 2.0),
    "H": (3.0, 3.0),
    "J": (5.0, 5.0),
    "K": (10.0, 10.0),
    "M": (20.0, 20.0),
    "N": (30.0, 30.0),
    "Q": (10.0, 30.0),
    "T": (10.0, 50.0),
    "S": (20.0, 50.0),
    "Z": (20.0, 80.0),
}
_NUMBER = r"(\d+(?:\.\d+)?)"


def tolerance(text: pl.Expr) -> pl.Expr:
    """Shares that the capacitance may lie below and above what is printed: struct low, high.

    Both null where the text is not read: 0.2 and 0.3 for `-20/+30 %`, 0.2 twice for `20%` or `M`.
    """
    plain = (
        text.str.replace_all(r"[\s%]", "")
        .str.replace_all(r"[−–]", "-")
        .str.replace_all(",", ".", literal=True)
        .str.replace(r"^(?:±|\+/?-|-/?\+)(\d)", "$1")
        .str.to_uppercase()
    )
    joint = r"(?:/|;|\.{2,}|…|TO)?"
    down_first = rf"^-{_NUMBER}{joint}\+{_NUMBER}$"
    up_first = rf"^\+{_NUMBER}{joint}-{_NUMBER}$"
    same = plain.str.extract(rf"^{_NUMBER}$")
    letter = plain.replace_strict(_LETTERS, default=None, return_dtype=pl.List(pl.Float64))
    below = pl.coalesce(same, plain.str.extract(down_first, 1), plain.str.extract(up_first, 2))
    above = pl.coalesce(same, plain.str.extract(down_first, 2), plain.str.extract(up_first, 1))
    low = pl.coalesce(below.cast(pl.Float64), letter.list.first()) / 100.0
    high = pl.coalesce(above.cast(pl.Float64), letter.list.last()) / 100.0
    # A hundred per cent below nothing is left; ten times above is a slip of the pen.
    possible = (low < 1.0) & (high <= 10.0)
    return pl.struct(
        pl.when(possible).then(low).alias("low"), pl.when(possible).then(high).alias("high")
    )


def read_tolerance(text: str) -> tuple[float, float] | None:
    """One tolerance as shares below and above, or None where it is not read."""
    read = pl.select(t=tolerance(pl.lit(text, dtype=pl.String))).item()
    return None if read["low"] is None else (read["low"], read["high"])
