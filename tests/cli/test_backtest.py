"""fleet backtest."""

import csv
import io
import json

import pytest

from fleet.flow.backtest_score import COLUMNS

AS_OF = "2024-06-30"
KEYS = ("as_of", "units", "predicted", "happened", "brier", "brier_reference", "cost",
        "cost_run_to_failure")  # fmt: skip


@pytest.fixture
def yearly(fleet, tmp_path):
    """A club that asks after forty machines every March; a third of them fail by the way."""
    failed = {n: 2014 + n % 9 for n in range(14)}
    units = [f"TL-{n:02},KB-1,{2000 + n % 6}-05-01,2012-02-01,working" for n in range(40)]
    reports = [f"TL-{n:02},{year}-09-11,failed,capacitor" for n, year in failed.items()]
    reports += [
        f"TL-{n:02},{year}-03-01,working,"
        for n in range(40)
        for year in range(2013, failed.get(n, 2024) + 1)
    ]
    texts = {
        "models": ["model,planned_cost,failure_cost,currency", "KB-1,30,150,EUR"],
        "units": ["unit,model,manufactured,enrolled_on,enrolled_because", *units],
        "reports": ["unit,date,kind,cause", *reports],
    }
    folder = tmp_path / "club"
    folder.mkdir()
    for name, lines in texts.items():
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n")
    assert fleet("new").code == 0
    assert fleet("import", folder, "--strict").code == 0
    return fleet


def test_keys_one_row_for_each_past_day(yearly):
    done = yearly("backtest", "--as-of", AS_OF, "--json")
    rows = done.rows()
    assert len(rows) >= 3
    assert all(set(row) == set(COLUMNS) >= set(KEYS) for row in rows)
    days = [row["as_of"] for row in rows]
    assert days == sorted(days)
    assert days[-1] == "2022-03-01"  # two years before most were last heard of, on 2024-03-01
    for row in rows:
        assert 0 <= row["predicted"] <= 1
        assert row["happened_low"] <= row["happened"] <= row["happened_high"]
        assert row["flagged"] is True  # the files have no days of entry
        assert row["currency"] == "EUR"
    assert "Of 100 machines" in done.err
    assert "no day of entry of their own" in done.err


def test_by_model_and_by_size_of_chance(yearly):
    models = yearly("backtest", "--as-of", AS_OF, "--by", "model", "--json").rows()
    assert [(row["as_of"], row["model"]) for row in models] == [(None, None), (None, "KB-1")]
    assert models[0]["brier"] == pytest.approx(models[1]["brier"])
    text = yearly("backtest", "--as-of", AS_OF, "--by", "chance", "--csv").out
    bins = list(csv.DictReader(io.StringIO(text)))
    assert set(bins[0]) >= {"chance_from", "chance_to", "predicted", "happened", "cases"}


def test_options_change_the_days_and_the_rule(yearly):
    asked = ("backtest", "--as-of", AS_OF, "--json")
    yearly_days = yearly(*asked, "--from", "2018-01-01").rows()
    assert min(row["as_of"] for row in yearly_days) >= "2018-01-01"
    rows = yearly(*asked, "--from", "2018-01-01", "--every", "0.5", "--horizon-years", "1",
                  "--fixed-age", "12").rows()  # fmt: skip
    assert len(rows) > len(yearly_days)
    assert {(row["horizon_years"], row["fixed_age_years"]) for row in rows} == {(1.0, 12.0)}


def test_either_estimate_can_be_judged(yearly):
    asked = ("backtest", "--as-of", AS_OF, "--json", "--from", "2021-01-01")
    (posterior,) = yearly(*asked).rows()[-1:]
    (likelihood,) = yearly(*asked, "--estimate", "likelihood").rows()[-1:]
    assert posterior["predicted"] != likelihood["predicted"]
    assert posterior["expected_low"] <= posterior["expected"] <= posterior["expected_high"]
    assert posterior["held"] in (True, False)
    assert likelihood["expected"] is None
    assert yearly("backtest", "--estimate", "guess").code == 2


def test_the_screen_says_chances_in_per_cent(yearly):
    done = yearly("backtest", "--as-of", AS_OF, "--from", "2020-01-01")
    assert done.code == 0
    assert " %" in done.out
    assert "expected to fail" in done.out
    assert "at 10 years" in done.out
    assert "number expected" in done.out


def test_nothing_to_look_back_on_is_done_and_said(fleet, yearly):
    done = yearly("backtest", "--as-of", "2013-06-30", "--json")
    assert (done.code, json.loads(done.out)) == (0, [])
    assert "too little history" in done.err


def test_an_empty_store_is_done_and_said(fleet):
    fleet("new")
    done = fleet("backtest", "--as-of", AS_OF)
    assert (done.code, done.out) == (0, "")
    assert "nothing to look back on" in done.err


def test_a_first_day_too_late_is_one_sentence(yearly):
    done = yearly("backtest", "--as-of", AS_OF, "--from", "2024-01-01")
    assert (done.code, done.out) == (1, "")
    assert done.err.count("\n") == 1
    assert "give an earlier day" in done.err


def test_wrong_usage(fleet):
    fleet("new")
    assert fleet("backtest", "--from", "soon").code == 2
    assert fleet("backtest", "--every", "0").code == 2
    assert fleet("backtest", "--by", "week").code == 2
