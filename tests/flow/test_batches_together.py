"""What taking batches together may hide: counted by hand, said only where it matters."""

import polars as pl
import pytest

from fleet.flow.batches_together import batches_together, together_words

LIVES = pl.DataFrame(
    {
        "model": ["A", "A", "A", "A", "B", "B"],
        "batch": ["x", "y", "y", "x:z", "x", None],
    }
)
OPEN = {"exists": True, "shape_low": 0.46}
DIFFER = {
    "verdict": "one of 5 batches lives shorter: batch",
    "shape": 2.9, "shape_low": 1.7, "shape_high": 3.8,
}  # fmt: skip


def test_named_batches_of_each_group_are_counted_and_sets_of_several_are_none():
    found = batches_together(LIVES, by=["model"])
    assert found.rows() == [("A", 2)]
    assert batches_together(LIVES, by=[]).rows() == [(2,)]


def test_batches_that_are_kept_apart_hide_nothing():
    assert batches_together(LIVES, by=["model", "batch"]).is_empty()


def test_a_fit_that_leaves_age_open_may_be_of_batches_that_wear_out():
    assert together_words(5, OPEN) == (
        "5 batches are counted together here, which can hide that each wears out."
    )


@pytest.mark.parametrize(
    "fit", [{"exists": True, "shape_low": 1.2}, {"exists": False, "shape_low": None}]
)
def test_nothing_is_said_of_a_fit_that_wears_out_or_that_there_is_not(fit):
    assert together_words(5, fit, DIFFER) == ""


def test_where_the_batches_are_known_to_differ_their_own_shape_is_said():
    said = together_words(5, OPEN, DIFFER)
    assert said.startswith("But its batches differ, and together they hide that each wears out")
    assert "the shape is 2.9 (1.7 to 3.8)" in said
    unsure = together_words(5, OPEN, {**DIFFER, "shape_low": 0.9})
    assert unsure.endswith("take them apart.")


def test_a_verdict_that_they_are_alike_is_no_reason_to_take_them_apart():
    alike = {**DIFFER, "verdict": "batches fail alike, and age does not matter"}
    assert together_words(5, OPEN, alike) == ""
