"""One part told of several times with facts that differ: it is not known which of them it has."""

import polars as pl

from fleet.capacitors.facts import with_facts
from fleet.capacitors.values import filled, number_said

# Facts that decide on safety or function; suppliers round sizes in ways of their own.
_SAID = {
    "capacitance": pl.col("capacitance_said"),
    "voltage": filled("{} V", number_said(pl.col("voltage"))),
    "temperature": filled("{} °C", number_said(pl.col("temperature"))),
    "lead form": pl.col("lead_form"),
    "current": pl.col("current"),
    "safety class": pl.col("safety_class"),
}


def told_twice(offers: pl.DataFrame) -> pl.DataFrame:
    """Parts whose offers contradict one another: part, sentence; one row a part.

    `offers` has part and facts, as in the record kind. Rows that leave a fact out agree with any.
    """
    said = with_facts(offers).select("part", **_SAID)
    told = said.group_by("part", maintain_order=True).agg(
        pl.col(name).drop_nulls().unique(maintain_order=True) for name in _SAID
    )
    each = [
        pl.when(pl.col(name).list.len() > 1).then(
            pl.format(f"{name} {{}}", pl.col(name).list.join(" and "))
        )
        for name in _SAID
    ]
    differ = pl.concat_str(each, separator=", ", ignore_nulls=True)
    return (
        told.select("part", differ=differ)
        .filter(pl.col("differ") != "")
        .select(
            "part",
            sentence=pl.format(
                "its offers contradict each other ({}); correct the wrong one with fleet amend, or "
                "give the other part a name of its own",
                "differ",
            ),
        )
    )
