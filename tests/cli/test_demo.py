"""fleet demo."""

import pytest

from fleet.frames import DUE


def test_no_browser_prints_the_due_list_and_ends(fleet, tmp_path):
    target = tmp_path / "demo.duckdb"
    rows = fleet("demo", "--no-browser", "--store", target, "--json").rows()
    assert len(rows) > 100
    assert all(row.keys() >= set(DUE.names()) for row in rows)
    assert target.exists()
    # The same again on the demo's own store.
    again = fleet("demo", "--no-browser", "--store", target)
    assert again.code == 0
    assert "invented" in again.err


def test_store_that_is_no_demo_is_left_alone(club, store):
    before = club("lives", "--csv").out
    done = club("demo", "--no-browser", "--store", store)
    assert done.code == 1
    assert club("lives", "--csv").out == before


@pytest.mark.parametrize("by", ["model", "model,batch", "model,parts"])
def test_every_answer_runs_on_the_demo(fleet, tmp_path, by):
    target = tmp_path / "demo.duckdb"
    fleet("demo", "--no-browser", "--store", target)
    answered = {}
    for words in (["curve", "--by", by], ["fit", "--by", by], ["lives"], ["check"], ["due"]):
        done = fleet(*words, "--store", target, "--json")
        answered[words[0]] = done.rows()
        assert answered[words[0]], words
    names = by.split(",")
    assert all(list(row["group"]) == names for row in answered["fit"])
    models = {row["model"] for row in answered["lives"]}
    assert {row["group"]["model"] for row in answered["fit"]} == models
    assert {row["unit"] for row in answered["due"]} <= {row["unit"] for row in answered["lives"]}
