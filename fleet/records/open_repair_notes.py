"""What repair data of the Open Repair Data Standard can and cannot tell, in plain words."""

import polars as pl

from fleet.records.open_repair_codes import EARLIEST_YEAR


def heaping(ages: pl.Series) -> tuple[int, int]:
    """How many ages are whole years of five or more, and how many of those multiples of five."""
    whole = ages.drop_nulls().filter((ages.drop_nulls() >= 5) & (ages.drop_nulls() % 1 == 0))
    return len(whole), int((whole % 5 == 0).sum())


def say_what_it_tells(good: pl.DataFrame, tables: dict[str, pl.DataFrame], file: str) -> list[str]:
    """In plain words what such data can and cannot tell."""
    kept = tables["units"].height
    notes = [
        f"{file}: repair data of the Open Repair Data Standard, {kept:,} things brought for repair",
        "it holds only things that failed and none that still works, so it cannot tell how long "
        "they last: no life distribution can be read off it",
        "each thing is known because it failed; its model is a product category, not one design",
    ]
    whole, fives = heaping(good["age"])
    if whole:
        notes.append(
            f"the ages are guesses: {fives:,} of {whole:,} whole ages of 5 years or more "
            f"({fives / whole:.0%}) are multiples of 5, where one in five would be expected"
        )
    undated = good["manufactured"].null_count()
    if undated:
        notes.append(f"{undated:,} rows tell neither a year of manufacture nor an age")
    odd = good.filter(pl.col("no_year") & pl.col("year_of_manufacture").is_not_null())
    if odd.height:
        examples = ", ".join(odd["year_of_manufacture"].unique().sort().head(3).to_list())
        notes.append(
            f"{odd.height:,} years of manufacture are none, before {EARLIEST_YEAR} or after the "
            f"event (such as {examples}); not used, kept in the unit's notes"
        )
    strange = good.filter(pl.col("age").is_null() & pl.col("product_age").is_not_null()).height
    if strange:
        notes.append(f"{strange:,} ages are no numbers; not used, kept in the unit's notes")
    named = int((tables["reports"]["cause"] == "capacitor").sum())
    notes.append(
        f"{named:,} problem texts speak of a capacitor; the cause of the others is unknown"
        if good["problem"].null_count() < good.height
        else "the problem texts are blank, so the cause of every failure is unknown"
    )
    return notes
