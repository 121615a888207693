"""Groups compared, in words."""

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.fits.compare import compare
from fleet.flow.differences import difference_words, differences, range_words, times_words
from fleet.flow.table import Table
from fleet.frames import LIFE


def _table(rows, names):
    frame = pl.DataFrame(
        [(0.0, a, a if f else None, None, 1.0) for a, f in rows], LIFE, orient="row"
    )
    return Table(lives=frame.with_columns(batch=pl.Series(names, dtype=pl.String)))


BAD = [(1.0, 1), (1.4, 1), (1.9, 1), (2.3, 1), (2.6, 1), (3.0, 0)]
GOOD = [(5.0, 1), (6.0, 1), (7.5, 1), (8.0, 1), (8.0, 0), (8.0, 0), (8.0, 0), (8.0, 0)]


def test_a_bad_batch_is_said_with_how_much_shorter_it_lasts():
    found = differences(_table(BAD + GOOD, ["X"] * 6 + ["Y"] * 8), by=["batch"])
    text = "\n".join(found.words)
    assert "differ more than chance would explain" in text
    assert "X lasts 0.2" in text
    assert "times as long as Y (" in text
    assert found.ratios["batch"].to_list() == ["Y", "X"]


def test_batches_alike_are_said_to_be_so():
    found = differences(_table(GOOD + GOOD, ["X"] * 8 + ["Y"] * 8), by=["batch"])
    text = "\n".join(found.words)
    assert "no more than chance would explain" in text
    assert "Y lasts 1 times as long as X" in text
    assert "it may last as long" in text


def test_a_batch_without_failure_lasts_at_least_so_long():
    still = [(8.0, 0)] * 8
    found = differences(_table(BAD + still, ["X"] * 6 + ["Y"] * 8), by=["batch"])
    assert any(
        "Y lasts at least" in words and "no failure to go by" in words for words in found.words
    )


def test_a_test_that_cannot_be_done_says_why():
    lives = _table([(1.0, 0), (2.0, 1)], ["X", "Y"]).lives
    ratios = pl.DataFrame(schema={"batch": pl.String})
    words = difference_words(compare(lives, ["batch"]), ratios, ["batch"])
    assert any("cannot be tested, because" in sentence for sentence in words)
    assert "None" not in " ".join(words)


def test_without_a_column_it_says_what_to_give():
    with pytest.raises(BadInput, match="--by batch"):
        differences(_table(GOOD, ["X"] * 8), by=[])


def test_ranges_and_times_in_words():
    assert range_words(0.4, 0.8) == "0.4 to 0.8"
    assert range_words(None, 2.0) == "at most 2"
    assert range_words(2.0, None) == "at least 2"
    assert range_words(None, None) == "no limits"
    row = {"ratio": 0.6, "ratio_low": 0.4, "ratio_high": 0.8, "failures": 5.0}
    assert times_words(row, "Y") == "0.6 times as long as Y (0.4 to 0.8)"
