"""Real, messy, failure-only repair data: in whole, and no life distribution made of it."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.answers import lives, survival, weibull
from fleet.flow.due import due
from fleet.flow.entering import create_store
from fleet.flow.importing import import_files

TODAY = date(2026, 6, 30)


@pytest.fixture(scope="module")
def real_store(tmp_path_factory, shared):
    # Open Repair Alliance, datasets of 2022-04 to 2025-07 (CC BY-SA 4.0), an extract.
    store = tmp_path_factory.mktemp("real") / "real.duckdb"
    create_store(store)
    file = shared / "real" / "open_repair_extract.csv"
    done = import_files(store, [file], today=TODAY, by=None)
    (row,) = done.counts.iter_rows(named=True)
    assert row["rows"] == 6654
    assert row["rows"] == row["kept"] + row["rejected"] + row["already_known"]
    assert any("none that still works" in note for note in done.notes)
    return store, file


@pytest.mark.shared
def test_the_same_file_twice_changes_nothing(real_store):
    store, file = real_store
    again = import_files(store, [file], today=TODAY, by=None)
    assert again.import_id is None
    assert again.counts["already_known"].sum() + again.counts["rejected"].sum() == 6654


@pytest.mark.shared
def test_no_life_distribution_is_made_of_failures_alone(real_store):
    table = lives(real_store[0], as_of=TODAY)
    assert table.lives.height > 1000
    fits = weibull(table)
    assert fits.frame.height == 10
    assert not fits.frame["exists"].any()
    assert fits.frame["scale"].null_count() == 10
    assert all("only failures were reported" in reason for reason in fits.frame["reason"])
    curves = survival(table)
    assert curves.frame.is_empty()
    assert any("cannot tell how long the machines last" in note for note in curves.notes)


@pytest.mark.shared
def test_nothing_is_due_on_such_data_and_each_row_says_why(real_store):
    answer = due(real_store[0], as_of=TODAY, planned_cost=30, failure_cost=120)
    assert answer.frame.height > 100
    assert answer.frame["due_on"].null_count() == answer.frame.height
    assert answer.frame["p_fail"].null_count() == answer.frame.height
    assert set(answer.frame["action"]) <= {"leave", "check_in"}
    assert answer.frame.filter(pl.col("reason").str.len_chars() < 20).is_empty()
