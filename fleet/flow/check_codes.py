"""Batches whose date code cannot be a date, as a finding of `fleet check`.

METHODS: date-codes
"""

from collections.abc import Iterator

import polars as pl

from fleet.capacitors.date_codes import cannot_be
from fleet.flow.check_finding import Finding, Look


def impossible_codes(look: Look) -> Iterator[Finding]:
    """Batches by name, with the first reason; codes of unknown forms are left alone."""
    batches = look.records["batches"].filter(pl.col("date_code").is_not_null())
    wrong = {
        batch: why
        for batch, code in batches.select("batch", "date_code").sort("batch").iter_rows()
        if (why := cannot_be(code, not_after=look.as_of))
    }
    if wrong:
        units = look.records["units"]
        yield Finding(
            subject=look.some(list(wrong)),
            finding=f"date codes that cannot be a date: {next(iter(wrong.values()))}",
            count=len(wrong),
            advice="read the code off a part again and correct it: fleet amend",
            to_do="Read the code off a part again, and bring the batch in corrected.",
            machines=units.filter(pl.col("batch").is_in(list(wrong)))["unit"].n_unique(),
        )
