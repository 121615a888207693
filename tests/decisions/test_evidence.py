"""What an answer rests on, said for original and replaced parts and for any number of failures."""

import polars as pl
import pytest

from fleet.decisions.evidence import against, rests_on

UNIT = {
    "parts": "original", "borrowed": False, "by_kind": False, "too_few": False,
    "failed_once": False, "age": 3000.0, "oldest_age": 9000.0, "optimal_age": 4000.0,
    "shape_low": 2.0, "shape_high": 4.0, "estimate": 0, "model": "BK3", "failures": 23.0,
    "lives": 140.0, "of_parts": "original", "of_batch": None, "batch_failures": None,
}  # fmt: skip
SCHEMA = {"of_batch": pl.String, "batch_failures": pl.Float64}


def one(**fields):
    return pl.DataFrame([UNIT | fields], schema_overrides=SCHEMA)


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({}, "23 failures among 140 lives of model BK3"),
        ({"failures": 1.0, "lives": 1.0}, "1 failure among 1 life of model BK3"),
        ({"of_batch": "A"}, "23 failures among 140 lives of batch A"),
        (
            {"of_batch": "A", "batch_failures": 4.5},
            "23 failures among 140 lives of model BK3, 4.5 of them of its batch A",
        ),
        (
            {"of_batch": "A", "batch_failures": 0.0, "of_parts": "replaced"},
            "23 failures among 140 lives of replaced parts in model BK3, none of them of its "
            "batch A",
        ),
        (
            {"of_batch": "A", "batch_failures": 0.0, "failures": 0.0, "of_parts": "replaced"},
            "no failures among 140 lives of replaced parts in model BK3",
        ),
        (
            {"of_batch": "A", "batch_failures": 1.0, "failures": 1.0},
            "1 failure among 140 lives of model BK3, that one of its batch A",
        ),
        (
            {"of_batch": "A", "batch_failures": 0.0, "failures": 1.0},
            "1 failure among 140 lives of model BK3, not of its batch A",
        ),
    ],
)
def test_failures_and_lives_are_counted_in_words(fields, said):
    assert one(**fields).select(rests_on()).item() == f"This rests on {said}."


@pytest.mark.parametrize(
    ("of_parts", "said"),
    [
        ("original", "hardly any failure of its model is known, so the answer leans on what is "
         "usual for such parts"),
        ("replaced", "hardly any failure of replaced parts in its model is known, so the "
         "answer leans on what is usual for such parts and on the life of its original ones"),
    ],
)  # fmt: skip
def test_too_few_failures_say_of_which_parts(of_parts, said):
    unit = one(of_parts=of_parts, too_few=True)
    doubts = [doubt for doubt in against(2.0, 730.0) if unit.select(doubt.when).item()]
    assert [unit.select(doubt.said).item() for doubt in doubts] == [said]
