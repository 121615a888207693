"""Failures to come in sentences: tenths of machines, and how many to keep parts for."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.expected_words import foot_words, model_words, tenths


def _said(expected, low, high, already, units=24):
    row = {
        "model": "M", "expected": expected, "low": low, "high": high, "units": units,
        "already_failed": already, "quarter_from": date(2026, 7, 1),
        "quarter_to": date(2026, 9, 30),
    }  # fmt: skip
    return model_words(pl.DataFrame([row]))[0]


def test_tenths_of_machines_and_parts_for_the_upper_limit():
    said = _said(0.757, 0.0, 2.0, 0.0)
    assert said.startswith("In M about 0.8 of 24 machines will fail")
    assert said.endswith("at most 2. Keep parts for 2 machines.")


def test_parts_for_those_that_may_have_failed_come_on_top():
    said = _said(3.04, 1.0, 6.0, 1.26)
    assert "about 3 of 24 machines" in said
    assert said.endswith(
        "About 1.3 more may have failed already without anybody knowing. Keep parts for 8 machines."
    )


def test_the_foot_does_not_count_the_failed_twice():
    row = {"model": None, "already_failed": 1.26}
    said = " ".join(foot_words(pl.DataFrame([row]), unknown=1, level=0.9, again=False))
    assert "Parts to keep are for the upper limit and for those that have failed already" in said
    assert "1 working machine is left out" in said


def test_next_to_none():
    said = _said(0.004, 0.0, 0.0, 0.01)
    assert "In M less than 0.1 of 24 machines" in said
    assert said.endswith("most likely none. No parts need be kept.")


@pytest.mark.parametrize(
    ("count", "text"), [(0.75, "0.8"), (9.96, "10"), (1234.4, "1,234"), (2.0, "2")]
)
def test_a_count_as_spoken(count, text):
    assert tenths(count) == text
