"""The plain answer to batch or design: each verdict said once, in words without statistics."""

import polars as pl
import pytest

from fleet.flow.suspects import SUSPECTS
from fleet.flow.suspects_judge import DESIGN, NEITHER, SHORTER
from fleet.flow.suspects_plain import fraction_words, plain_answer


def rows(*given):
    """Rows of SUSPECTS from what matters: level, name, model, verdict, failures and the rest."""
    blank = dict.fromkeys(SUSPECTS)
    return pl.DataFrame(
        [{**blank, "parts": "original", "lives": 20.0, **row} for row in given],
        schema=SUSPECTS,
    )


def batch(name, verdict, **more):
    return {"level": "batch", "name": name, "model": "KB-1", "verdict": verdict,
            "failures": 9.0, **more}  # fmt: skip


def model(name, verdict, failures=12.0):
    return {"level": "model", "name": name, "model": name, "verdict": verdict,
            "failures": failures}  # fmt: skip


BAD = batch("B7", SHORTER, effect=0.45, expected=3.6, p_shorter=0.995)


def test_a_bad_batch_is_named_with_its_counts():
    said = plain_answer(rows(BAD, model("KB-1", "one of 2 batches lives shorter: batch")))
    assert said.found == "batch"
    assert said.headline == "Yes, one batch stands out: B7 in KB-1."
    assert "about half as long" in said.because
    assert "9 of its 20 sets have failed, where about 4 would have" in said.because
    assert "more than 99 in 100" in said.because
    assert said.meaning[0][0] == "KB-1"
    assert "the batch matters" in said.meaning[0][1]


def test_batches_that_age_alike_are_the_design_and_others_stay_open():
    said = plain_answer(
        rows(batch("B1", "like the others"), model("KB-1", DESIGN), model("KB-2", "cannot tell", 4))
    )
    assert (said.found, said.headline) == ("design", "No batch stands out.")
    assert "KB-1" in said.because
    assert "KB-2" not in said.because
    assert dict(said.meaning)["KB-2"].startswith("not enough is known")


def test_failures_at_any_age_are_no_reason_for_new_parts():
    said = plain_answer(rows(batch("B1", "like the others"), model("KB-1", NEITHER)))
    assert "New parts by age do not help" in dict(said.meaning)["KB-1"]


def test_a_better_batch_is_no_suspect():
    said = plain_answer(rows(batch("B1", "longer life"), model("KB-1", "one lives longer: batch")))
    assert said.headline.startswith("No batch is worse")
    assert "B1 in KB-1" in said.headline


def test_too_few_failures_and_no_names_say_so():
    few = plain_answer(rows(batch("B1", "too few failures"), model("KB-1", "cannot tell", 1.0)))
    assert (few.found, few.headline) == ("open", "It cannot be told yet.")
    assert "With 1 failure " in few.because
    nameless = plain_answer(rows(model("KB-1", "cannot tell")))
    assert "what is printed on its capacitors" in nameless.because


def test_places_that_fail_first_are_named_by_board():
    place = {"level": "position", "name": "C1", "model": "KB-1", "verdict": SHORTER,
             "failures": 5.0}  # fmt: skip
    said = plain_answer(rows(BAD, place))
    assert ("On the board", "these places fail sooner than the rest: KB-1 C1.") in said.meaning


def test_many_names_are_the_first_few_and_a_count():
    many = [model(f"K{i:02}", DESIGN) for i in range(40)]
    said = plain_answer(rows(*many))
    assert said.meaning[0][0].endswith("K05 and 34 more")


@pytest.mark.parametrize(
    ("ratio", "said"),
    [(0.05, "a fifth or less"), (0.26, "a quarter"), (0.45, "half"), (0.7, "two thirds"),
     (0.86, "nine tenths")],
)  # fmt: skip
def test_fractions_as_spoken(ratio, said):
    assert fraction_words(ratio) == said
