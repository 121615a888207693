"""Sentences that must go with a curve."""

from collections.abc import Sequence

import polars as pl

from fleet.fits.support import needed


def age_words(age: float, unit: str | None) -> str:
    """An age as written in a sentence, with its unit where that is known."""
    number = f"{age:,.0f}" if age >= 1000 else f"{age:.4g}"
    return f"{number} {unit}" if unit else number


def advice(points: pl.DataFrame, keys: pl.DataFrame, unit: str | None) -> list[str]:
    """Where few were watched early, or the curve fell to 0 with others still to come."""
    of_group = pl.col("_group")
    few = (pl.col("failures") > 0) & (pl.col("at_risk") < needed(pl.col("most")) - 1e-9)
    enough = pl.col("age").filter(pl.col("at_risk") >= needed(pl.col("most")) - 1e-9)
    told = points.group_by("_group", maintain_order=True).agg(
        collapsed=pl.col("collapsed").any(),
        zero=pl.col("age").filter(pl.col("survival") == 0.0).min(),
        start=enough.min(),
        early=few.filter(pl.col("age") < enough.min()).any(),
    )
    notes = []
    for row in told.filter(pl.col("collapsed") | pl.col("early")).sort(of_group)[:5].to_dicts():
        where = of_groups([row["_group"]], keys)
        if row["collapsed"]:
            zero = age_words(row["zero"], unit)
            words = (
                f"The curve {where} falls to 0 at age {zero}, where the few at risk all "
                "failed, although others were watched later; it says nothing beyond."
            )
        else:
            words = f"The curve {where} rests on very few lives at its earliest failures."
        if row["start"] is not None:
            words += (
                f" Read it as conditional on having reached age {age_words(row['start'], unit)}."
            )
        notes.append(words)
    more = told.filter(pl.col("collapsed") | pl.col("early")).height - 5
    if more > 0:
        notes.append(f"The same holds for {more} further groups.")
    return notes


def of_groups(groups: Sequence[int], keys: pl.DataFrame) -> str:
    """The groups as a sentence names them: "of model A, model B and 3 more"."""
    if not keys.width:
        return "of all lives"
    names = [" ".join(f"{c} {v}" for c, v in keys.row(g, named=True).items()) for g in groups[:3]]
    more = f" and {len(groups) - 3} more" if len(groups) > 3 else ""
    return f"of {', '.join(names)}{more}"
