"""How many failures point to one position, and whether that carries a verdict."""

import polars as pl

FEWEST = 3.0  # failures below which nothing is said of a position; our own rule
_MOST_NAMES = 3


def carried(side: str) -> pl.Expr:
    """Whether failures whose position is settled carry "shorter" or "longer" life.

    Shorter: three failures at least had no other suspect. Longer: of the failures known to be at
    the position or known not to be, an even part is three at least; else chance, or the sharing
    out, could have left it with none. Reads of_failures, candidates, certain, even.
    """
    if side == "shorter":
        return pl.col("certain") >= FEWEST
    settled = pl.col("of_failures") - pl.col("candidates") + pl.col("certain")
    return pl.col("even") * settled >= FEWEST


def settled_words(rows: pl.DataFrame) -> str:
    """Where the fewer failures of a model point to one position: "Only 5 of 13 ...", else ""."""
    of = float(rows["of_failures"][0])
    settled = float(rows["certain"].sum())
    if settled >= 0.5 * of:
        return ""
    if settled < 0.5:
        return f"None of {of:,.0f} failures points to one position; all are shared out"
    names = rows.filter(pl.col("certain") >= 0.5)["position"].str.replace_all(";", " and ")
    which = ""
    if len(names) <= _MOST_NAMES:
        *most, last = names.to_list()
        where = f"{', '.join(most)} or {last}" if most else last
        which = f", all {where}" if settled >= 1.5 else f", {where}"
    point = "points" if settled < 1.5 else "point"
    rest = of - settled
    others = "the other is" if rest < 1.5 else f"the other {rest:,.0f} are"
    return (
        f"Only {settled:,.0f} of {of:,.0f} failures {point} to one position{which}; {others} "
        "shared out"
    )


def even_part(rows: pl.DataFrame) -> pl.Series:
    """What would fall to each row if every position of its model failed as often."""
    names = rows["position"].str.split(";").list.len()
    return (names / names.sum()).alias("even")
