"""Of a set fitted lately: how often such jobs went wrong soon after, which no life of parts tells.

METHODS: early-failures
"""

from datetime import date
from pathlib import Path

import polars as pl

_YOUNG_DAYS = 365  # since it was fitted; our own choice


def young_set_words(
    store: Path, model: str | None, sets: pl.DataFrame, *, as_of: date
) -> tuple[str, ...]:
    """A sentence where the machine's present set (last of `sets`, UNIT_SETS) is less than a year
    old and recaps of its model failed again early; else none.
    """
    if model is None or not _is_young(sets, as_of):
        return ()
    from fleet.flow.known import known_records
    from fleet.flow.outcomes import EARLY_MONTHS, READ_FOR_OUTCOMES, jobs_done

    records = known_records(store, READ_FOR_OUTCOMES, as_of=as_of)
    jobs = jobs_done(records, as_of=as_of, early_months=EARLY_MONTHS).filter(
        (pl.col("model") == model) & (pl.col("how") == "recapped") & pl.col("whole")
        & ~pl.col("history")
    )  # fmt: skip
    early = int(jobs["failed_early"].sum())
    if not early:
        return ()
    return (
        f"Its parts are new, and the chances above are those of parts that were fitted well: of "
        f"{jobs.height:,} recaps of all positions of {model} {early:,} failed again within "
        f"{EARLY_MONTHS:g} months. Measure and try it before it goes back.",
    )


def _is_young(sets: pl.DataFrame, as_of: date) -> bool:
    if sets.is_empty():
        return False
    present = sets.row(-1, named=True)
    began = present["started_latest"]
    return (
        present["set_no"] > 1
        and present["ended_on"] is None
        and not present["failed"]
        and began is not None
        and (as_of - began).days < _YOUNG_DAYS
    )
