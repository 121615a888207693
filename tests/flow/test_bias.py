"""What unknown causes and one-sided reporting do, in numbers."""

from datetime import date, timedelta

import polars as pl
import pytest

from fleet.flow.answers import Settings, in_years, life_file, lives, weibull
from fleet.flow.bias import one_sided, unknown_ends
from fleet.flow.bias_sources import COMPLETENESS, completeness_of
from fleet.frames import WORKING, known_schema

CUT = date(2026, 6, 30)


def test_both_ends_are_the_fits_asked_for_one_by_one(demo_store):
    answer = unknown_ends(demo_store, as_of=CUT)
    for name, how in (("all by capacitors", "capacitor"), ("none by capacitors", "other")):
        settings = Settings(unknown_cause=how)
        table = in_years(lives(demo_store, as_of=CUT, settings=settings))
        alone = weibull(table, by=("model",), settings=settings).frame
        found = answer.frame.filter(unknown_cause=name)
        both = found.join(alone, on="model", suffix="_alone")
        assert both.height == found.height > 0
        for column in ("failures", "shape", "scale", "b10", "b10_low", "b10_high"):
            assert both[column].to_list() == pytest.approx(both[f"{column}_alone"].to_list())
    shared = answer.frame.filter(unknown_cause="shared")
    known = pl.col("known_capacitor"), pl.col("known_other")
    # design: (1 + capacitor) / (2 + capacitor + other)
    assert shared.select((1 + known[0]) / (2 + known[0] + known[1])).to_series().to_list() == (
        pytest.approx(shared["share"].to_list())
    )
    assert len(answer.notes) == shared.height
    assert "6 failures of unknown cause" in answer.notes[1]


def test_ignoring_late_entry_makes_lives_seem_longer(demo_store):
    answer = one_sided(in_years(lives(demo_store, as_of=CUT)))
    row = answer.frame.filter(model="DQ31").row(0, named=True)
    assert row["naive_b10"] > row["b10"]
    assert "too long by" in answer.notes[1]


def test_failures_alone_taken_as_all_there_was(tmp_path):
    """Published: 25 failures by 100 h known only because they failed have shape 0.472776, scale
    56.6784 (Meeker's circuits, right truncated: Meeker 1987 data, own computation in R); taken
    as the whole population the ages alone give another, shorter life.
    """
    hours = [.1, .1, .15, .6, .8, .8, 1.2, 2.5, 3, 4, 4, 6, 10, 10, 12.5, 20, 20, 43, 43, 48, 48,
             54, 74, 84, 94]  # fmt: skip
    path = tmp_path / "lives.csv"
    rows = "\n".join(f"0,{h},{h},100,1,M" for h in hours)
    path.write_text(f"entry,low,high,known_by,count,model\n{rows}\n")
    answer = one_sided(life_file(path))
    row = answer.frame.row(0, named=True)
    assert row["shape"] == pytest.approx(0.472776, rel=1e-5)
    assert row["scale"] == pytest.approx(56.6784, rel=1e-5)
    assert row["failure_only"] == 25
    assert row["naive_scale"] < row["scale"]
    assert "25 are known only because they failed" in answer.notes[0]


def _frame(kind, rows):
    schema = known_schema(kind)
    return pl.DataFrame([{**dict.fromkeys(schema), **row} for row in rows], schema=schema)


def test_completeness_counted_by_hand():
    day = date(2025, 3, 1)
    units = _frame(
        "units",
        [
            {"unit": "a", "source": "A", "enrolled_because": "working"},
            {"unit": "b", "source": "A", "enrolled_because": "working"},
            {"unit": "c", "source": "B", "enrolled_because": "failed"},
        ],
    )
    reports = _frame(
        "reports",
        [
            {"unit": "a", "kind": "working", "reconstructed": False},
            {
                "unit": "a", "kind": "failed", "cause": "capacitor", "positions": "C1",
                "date_earliest": day, "date_latest": day, "reconstructed": True,
            },
            {
                "unit": "c", "kind": "failed", "date_earliest": day, "source": None,
                "date_latest": day + timedelta(300), "reconstructed": True,
            },
        ],
    )  # fmt: skip
    sources = _frame("sources", [{"source": "A", "collecting_since": "2010"}, {"source": "B"}])
    blank = dict.fromkeys(WORKING)
    working = pl.DataFrame(
        [
            blank | {"unit": "a", "source": "A", "last_known_working": date(2025, 1, 1)},
            blank | {"unit": "b", "source": "A", "last_known_working": date(2020, 1, 1)},
        ],
        schema=WORKING,
    )
    answer = completeness_of(units, reports, sources, working, date(2025, 6, 1))
    assert answer.frame.schema == COMPLETENESS
    assert answer.frame.rows() == [
        ("A", 2, 2, 0.5, 1, 1.0, 1.0, 1.0, 0.5, "2010", True),
        ("B", 1, 0, None, 1, 0.0, 0.0, 0.0, 0.0, None, False),
    ]
    assert "50 % of its running machines" in answer.notes[0]
    assert "failures only" in answer.notes[1]
