"""Verdicts on positions rest on failures whose position is settled, by hand."""

import polars as pl
import pytest

from fleet.flow.position_told import carried, even_part, settled_words


def _rows(of, *rows):
    names = ["position", "candidates", "certain"]
    return pl.DataFrame(rows, schema=names, orient="row").with_columns(
        of_failures=pl.lit(float(of))
    )


def test_what_points_to_one_position_is_counted():
    rows = _rows(13, ("C2", 11.0, 3.0), ("C5", 10.0, 2.0), ("C7", 8.0, 0.0))
    assert settled_words(rows) == (
        "Only 5 of 13 failures point to one position, all C2 or C5; the other 8 are shared out"
    )
    assert settled_words(_rows(8, ("C2", 8.0, 4.0), ("C5", 4.0, 0.0))) == ""
    assert settled_words(_rows(3, ("C2", 3.0, 1.0), ("C5", 2.0, 0.0))) == (
        "Only 1 of 3 failures points to one position, C2; the other 2 are shared out"
    )
    assert settled_words(_rows(3, ("C2", 3.0, 0.0), ("C5", 3.0, 0.0))).startswith("None of 3")


@pytest.mark.parametrize(
    ("candidates", "certain", "shorter", "longer"),
    [
        (11.0, 3.0, True, False),  # of 13, 5 are settled for it: 1.25 would be its quarter
        (11.0, 2.0, False, False),
        (1.0, 0.0, False, True),  # 12 of 13 cannot be it: 3 would be its quarter
        (2.0, 0.0, False, False),  # 11 of 13: 2.75
    ],
)
def test_what_carries_a_verdict(candidates, certain, shorter, longer):
    rows = _rows(13, ("C1", candidates, certain)).with_columns(even=pl.lit(0.25))
    assert rows.select(carried("shorter")).item() is shorter
    assert rows.select(carried("longer")).item() is longer


def test_even_parts_count_positions_that_cannot_be_told_apart():
    rows = pl.DataFrame({"position": ["C1", "C2;C5", "C7"]})
    assert even_part(rows).to_list() == [0.25, 0.5, 0.25]
