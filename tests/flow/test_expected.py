"""Failures to come, through the chain, in numbers and in words."""

from datetime import date

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.due import due
from fleet.flow.entering import create_store
from fleet.flow.expected import expected_failures
from fleet.flow.expected_words import between

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def on_demo(demo_store):
    return expected_failures(demo_store, as_of=CUT)


def test_it_adds_up_to_the_due_list(on_demo, demo_store):
    """Sum over units of (1 - p_failed_unseen) p_fail to the end of the last quarter. Build dates
    and what is blank of a unit are drawn in other orders in the two, hence the fiftieth; without
    any the two are the same (tests/decisions/test_expected_failures.py).
    """
    last = on_demo.frame["quarter_to"].max()
    listed = due(demo_store, as_of=CUT, horizon_years=(last - CUT).days / 365.25).frame
    of_due = (
        listed.group_by("model")
        .agg(
            units=pl.len().cast(pl.Int64),
            expected=((1.0 - pl.col("p_failed_unseen")) * pl.col("p_fail")).sum(),
            dead=pl.col("p_failed_unseen").sum(),
        )
        .sort("model")
    )
    models = on_demo.models.drop_nulls("model").sort("model")
    assert models["units"].to_list() == of_due["units"].to_list()
    assert models["expected"].to_list() == pytest.approx(of_due["expected"].to_list(), rel=0.02)
    assert models["already_failed"].to_list() == pytest.approx(of_due["dead"].to_list(), rel=0.02)


def test_quarters_of_the_calendar_and_limits_around_the_number(on_demo):
    frame = on_demo.frame
    assert frame["quarter_from"][0] == date(2026, 7, 1)
    assert frame["quarter_to"].max() == date(2028, 6, 30)
    assert frame.select(pl.col("expected").is_between("low", pl.col("high") + 1).all()).item()
    of_all = frame.group_by("quarter_from").agg(pl.col("expected").sum()).sort("quarter_from")
    assert on_demo.quarters["expected"].to_list() == pytest.approx(of_all["expected"].to_list())


def test_all_models_together_are_surer_than_their_limits_added_up(on_demo):
    every, each = on_demo.models.row(0, named=True), on_demo.models.drop_nulls("model")
    assert every["model"] is None
    wide = each.select((pl.col("high") - pl.col("low")).sum()).item()
    assert every["high"] - every["low"] < wide


def test_sentences_for_who_buys_the_parts(on_demo):
    assert on_demo.said[0].startswith("In all models together about ")
    assert len(on_demo.said) == on_demo.models.height
    assert len(on_demo.said_of(["DQ31"])) == 1
    assert on_demo.said_of(["DQ31"])[0].startswith("In DQ31 about ")
    text = " ".join([*on_demo.said, *on_demo.notes]).lower()
    assert "may have failed already" in text
    assert not {"nan", "inf", "null", "none"} & set(text.replace(",", " ").split())


def test_counts_as_spoken():
    assert between(0.0, 0.0) == "most likely none"
    assert between(2.0, 2.0) == "most likely 2"
    assert between(0.0, 3.0) == "at most 3"
    assert between(1_200.0, 1_400.0) == "between 1,200 and 1,400"


def test_an_empty_store_says_so(tmp_path):
    store = tmp_path / "empty.duckdb"
    create_store(store)
    found = expected_failures(store, as_of=CUT)
    assert found.frame.is_empty()
    assert found.said == ("No machine is thought to be working whose chance of failing is known.",)


def test_what_cannot_be_asked_is_refused(demo_store):
    with pytest.raises(BadInput, match="give 1 to 120"):
        expected_failures(demo_store, as_of=CUT, quarters=500)
