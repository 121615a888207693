"""Does heat, use or a batch shorten life? Which clock do lives follow?"""

from datetime import date

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.answers import in_years, lives
from fleet.flow.clocks import clocks
from fleet.flow.entering import add_record, create_store, log_reports
from fleet.flow.facts import with_facts
from fleet.flow.influences import influences
from fleet.flow.table import Table

CUT = date(2026, 6, 30)
HALF = float(np.log(2.0))


def _file(seed=1, count=400, *, per_ten=-HALF, per_doubling=0.0, wear_of_hours=0.0):
    """A life table file's table: text columns ambient_c, hours_per_year and batch."""
    rng = np.random.default_rng(seed)
    heat = rng.uniform(10.0, 45.0, count).round(1)
    use = np.exp(rng.normal(7.0, 0.6, count)).round(0)
    scale = 12.0 * np.exp(per_ten * (heat - 25.0) / 10.0 + per_doubling * np.log2(use / 1100.0))
    rate = (1.0 - wear_of_hours) + wear_of_hours * use / 1100.0
    age, end = scale * rng.weibull(3.0, count) / rate, rng.uniform(2.0, 15.0, count)
    return Table(
        lives=pl.DataFrame(
            {
                "entry": 0.0,
                "low": np.minimum(age, end),
                "high": np.where(age <= end, age, np.nan),
                "known_by": pl.Series([None] * count, dtype=pl.Float64),
                "count": 1.0,
                "ambient_c": [f" {h}" for h in heat],
                "hours_per_year": [f"{u:.0f}" for u in use],
                "batch": rng.choice(["7", "8", "9"], count),
            }
        ).with_columns(pl.col("high").fill_nan(None))
    )


def _explain(table, *columns, **more):
    return influences(table, columns, store=None, as_of=CUT, **more)


def test_heat_that_halves_lives_agrees_with_the_rule():
    answer = _explain(_file(), "ambient_c", "hours_per_year", "batch")
    heat, use = answer.frame.row(0, named=True), answer.frame.row(1, named=True)
    assert heat["per"] == "10 more"
    assert heat["effect_low"] < 0.5 < heat["effect_high"]
    assert use["per"] == "twice as much"
    assert use["effect_low"] < 1.0 < use["effect_high"]
    text = "\n".join(answer.notes)
    assert "10 °C hotter" in text
    assert "lives shorter" in text
    assert "agrees with the ten-kelvin rule" in text
    assert "twice the powered hours a year: no effect seen" in text
    assert "batch: differences no larger than chance" in text


def test_heat_without_effect_does_not_fit_the_rule_and_few_failures_claim_nothing():
    assert "heat does less" in "\n".join(_explain(_file(per_ten=0.0), "ambient_c").notes)
    few = _explain(_file(seed=5, count=12, per_ten=-0.3), "ambient_c", "hours_per_year")
    text = "\n".join(few.notes)
    assert text.startswith("Fewer than ten failures")
    assert "unreliable" in text
    assert "would most likely have shown" not in text
    assert "ten-kelvin" not in text


def test_names_stay_names_and_blanks_are_missing():
    table = _file(count=60)
    blank = table.lives.with_columns(
        ambient_c=pl.when(pl.int_range(pl.len()) < 6).then(pl.lit(" ")).otherwise("ambient_c")
    )
    answer = _explain(Table(lives=blank), "ambient_c", "batch")
    assert answer.frame["value"].to_list()[0] is None
    assert set(answer.frame["value"].drop_nulls()) <= {"7", "8", "9"}
    assert answer.frame["missing"].to_list()[0] == 6.0
    assert any("6 lives were left out" in words for words in answer.notes)


def test_groups_kept_apart_are_said():
    answer = _explain(_file(), "ambient_c", by=["batch"])
    assert answer.frame.height == 1
    assert any("groups by batch may differ" in words for words in answer.notes)


def test_columns_nobody_has_are_named():
    with pytest.raises(BadInput, match="no column damp"):
        _explain(_file(count=20), "damp")
    with pytest.raises(BadInput, match="--explain"):
        _explain(_file(count=20))
    with pytest.raises(BadInput, match="no column colour"):
        _explain(_file(count=20), "ambient_c", by=["colour"])


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "Calendar age explains the failures better"),
        (1.0, "Powered hours explain the failures better"),
        (0.5, "A mix of age and powered hours"),
    ],
)
def test_clocks_in_words(share, words):
    answer = clocks(_file(seed=2, per_ten=0.0, wear_of_hours=share), store=None, as_of=CUT)
    assert answer.notes[0].startswith(words)
    assert answer.frame["clock"].to_list() == ["age", "hours", "mix"]


def test_clocks_that_few_failures_cannot_tell_apart():
    answer = clocks(_file(seed=8, count=9, per_ten=0.0), store=None, as_of=CUT)
    assert answer.notes[0] == "The data cannot tell age from powered hours (2 failures)"
    assert any("rough" in words for words in answer.notes)


def test_the_demo_shows_no_effect_and_how_large_one_was_missed(demo_store):
    table = in_years(lives(demo_store, as_of=CUT))
    for columns in (["ambient_c"], ["hours_per_year"]):
        answer = influences(table, columns, store=demo_store, as_of=CUT)
        row = answer.frame.row(0, named=True)
        assert row["effect_low"] < 1.0 < row["effect_high"]
        assert row["missing"] > 0
        assert any("no effect seen" in words for words in answer.notes)
        if answer.frame["reliable"].all():
            assert any("times as long fits these lives" in words for words in answer.notes)
        assert any("by model may differ" in words for words in answer.notes)


def test_the_bad_batch_of_the_demo_is_found(demo_store):
    table = in_years(lives(demo_store, as_of=CUT))
    answer = influences(table, ["batch"], store=demo_store, as_of=CUT)
    worst = answer.frame.drop_nulls("effect").sort("p_value").row(0, named=True)
    assert worst["effect_high"] < 0.7
    assert not any(":" in value for value in answer.frame["value"])


def test_blank_hours_are_read_off_the_meter(tmp_path):
    store = tmp_path / "fleet.duckdb"
    create_store(store)
    day = date(2020, 6, 30)
    add_record(store, "models", {"model": "M-1"}, today=day, by=None)
    for unit, hours in (("A", "500"), ("B", "")):
        fields = {"unit": unit, "model": "M-1", "manufactured": "2010-06-30"}
        more = {"enrolled_on": "2020-06-30", "enrolled_because": "working", "hours_per_year": hours}
        add_record(store, "units", {**fields, **more}, today=day, by=None)
    reading = [{"position": "hours", "capacitance": "9000"}]
    for unit in ("A", "B"):
        seen = {"date": "2020-06-30"}
        log_reports(store, "working", [unit], seen, readings=reading, today=day, by=None)
    log_reports(
        store, "working", ["A", "B"], {"date": "2021-06-30"}, today=date(2021, 6, 30), by=None
    )
    table = lives(store, as_of=date(2021, 6, 30))
    known, notes = with_facts(table, ["hours_per_year"], store=store, as_of=date(2021, 6, 30))
    hours = dict(known.lives.select("unit", "hours_per_year").iter_rows())
    assert hours["A"] == 500.0
    assert hours["B"] == pytest.approx(9000 / 10, rel=1e-3)
    assert notes == ("hours a year of 1 machine come from its hour meter: last reading by age",)
