"""Why lives of the demo's models were or were not taken together."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.answers import lives
from fleet.flow.pooling import pooling, pooling_notes, with_origin
from fleet.flow.pooling_words import pooling_sentence

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def answer(demo_store):
    table = lives(demo_store, as_of=CUT)
    return pooling(table, demo_store, as_of=CUT, models=["BZ62", "IX07"], questions=ASKED)


ASKED = ("build_year", "batches", "revisions", "parts", "positions")


def test_the_bad_batch_is_not_pooled_and_honest_ones_are(answer):
    """demo_data/truth.json: Moss-0917 of BZ62 lives 0.45 times as long; batches of IX07 alike."""
    said = {
        (row["model"], row["question"]): row["answer"] for row in answer.frame.iter_rows(named=True)
    }
    assert said["BZ62", "batches"] == "keep apart"
    assert said["IX07", "batches"] == "take together"
    assert said["BZ62", "revisions"] == "not tested"
    assert said["IX07", "parts"] == "keep apart"


def test_every_row_has_a_sentence_that_names_its_model(answer):
    for row in answer.frame.iter_rows(named=True):
        assert row["sentence"].startswith(f"{row['model']}: ")
        assert not any(word in row["sentence"] for word in ("nan", "inf ", "None"))


def test_notes_beside_a_fit(answer):
    notes = pooling_notes(answer)
    assert notes[0].startswith("BZ62: its batches do not live alike")
    assert notes[-1].startswith("Nothing speaks against taking together: ")


def test_origin_of_lives(demo_store):
    known = with_origin(lives(demo_store, as_of=CUT).lives, demo_store, as_of=CUT)
    built = known.filter(pl.col("unit") == "S-003")["built"]
    assert built.to_list() == pytest.approx([2006.5] * len(built), abs=0.01)
    failed = known.filter(pl.col("position").is_not_null())
    assert failed.height > 50
    assert failed["high"].null_count() == 0


def test_revisions_by_the_years_they_were_made_in():
    from fleet.flow.pooling import _revisions

    units = pl.DataFrame(
        {
            "unit": ["a", "b", "c"],
            "model": ["M"] * 3,
            "early": [date(2000, 1, 1), date(2006, 1, 1), date(2003, 1, 1)],
            "late": [date(2000, 12, 31), date(2006, 12, 31), date(2003, 12, 31)],
        }
    )
    models = pl.DataFrame(
        {
            "model": ["M", "M"],
            "revision": ["1", "2"],
            "first_made_earliest": [date(1999, 1, 1), date(2003, 6, 1)],
            "last_made_latest": [date(2003, 5, 31), None],
        }
    )
    # c may be of either
    assert dict(_revisions(units, models).iter_rows()) == {"a": "1", "b": "2"}


@pytest.mark.parametrize("question", ["build_year", "revisions", "positions", "mixture"])
def test_sentences_of_differences_and_hints(question):
    row = {
        "model": "M", "question": question, "groups": "1 (8), 2 (9)", "failures": 17.0,
        "p_value": 0.001, "p_corrected": 0.01, "effect": 0.8, "reason": None,
        "answer": "keep apart",
    }  # fmt: skip
    assert "chance of as much without a difference: 1 in 100" in pooling_sentence(row, looks=4)
    hint = row | {"p_value": 0.04, "p_corrected": 0.16, "answer": "take together"}
    assert "a hint, no more" in pooling_sentence(hint, looks=4)
