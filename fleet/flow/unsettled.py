"""Ages at which several curves fit the lives equally well, so that none is drawn."""

from collections.abc import Sequence

import polars as pl

from fleet.flow.read_aloud import number


def unsettled_words(
    points: pl.DataFrame, *, by: Sequence[str], unit: str = "years"
) -> tuple[str, ...]:
    """A sentence for each group whose curve (`by` + frames.CURVE) has ages without survival."""
    # from the first to the last failure there: what follows is no news
    open_ages = points.filter(pl.col("survival").is_null(), pl.col("failures") > 0.0)
    if open_ages.is_empty():
        return ()
    ends = (pl.col("age").min().alias("low"), pl.col("age").max().alias("high"))
    spans = (
        open_ages.group_by(list(by), maintain_order=True).agg(ends)
        if by
        else open_ages.select(ends)
    )
    return tuple(
        f"{', '.join(str(row[c]) for c in by) or 'All units'}: several curves fit equally well "
        f"{_span(row['low'], row['high'], unit)}, so nothing is drawn there."
        for row in spans.iter_rows(named=True)
    )


def _span(low: float, high: float, unit: str) -> str:
    one, two = number(low), number(high)
    return f"at {one} {unit}" if one == two else f"between {one} and {two} {unit}"
