"""Each machine's failures through all its sets, and what is said of them."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.entering import create_store
from fleet.flow.importing import import_files
from fleet.flow.repeated import machine_histories, repeated_failures
from fleet.flow.table import Settings, Table, in_years
from fleet.frames import LIFE

AS_OF = date(2024, 12, 31)
UNITS = """unit,model,manufactured,enrolled_on,enrolled_because
A,M,2000-01-01,2005-01-01,working
B,M,2000-01-01,2010-06-01,failed
C,M,,2005-01-01,working
D,M,2000-01-01,2006-01-01,working
"""
REPORTS = """unit,date,kind,cause,because
A,2004-06-01,failed,capacitor,
A,2008-01-01,failed,capacitor,
A,2008-01-20,failed,capacitor,
A,2008-02-01,recapped,,failure
A,2012-01-01,failed,other,
A,2012-02-01,repaired,,
A,2015-01-01,failed,unknown,
A,2015-02-01,recapped,,planned
A,2020-01-01,working,,
B,2010-06-01,failed,capacitor,
B,2010-07-01,recapped,,failure
B,2014-01-01,recapped,,failure
B,2016-01-01,working,,
C,2008-01-01,failed,capacitor,
C,2009-01-01,working,,
D,2007-01-01,working,,
"""


@pytest.fixture
def store(tmp_path):
    path = tmp_path / "s.duckdb"
    create_store(path)
    (tmp_path / "models.csv").write_text("model,kind\nM,radio\n")
    (tmp_path / "units.csv").write_text(UNITS)
    (tmp_path / "reports.csv").write_text(REPORTS)
    names = [tmp_path / f"{kind}.csv" for kind in ("models", "units", "reports")]
    assert import_files(path, names, today=AS_OF, by=None).rejected.is_empty()
    return path


def days(year, month=1, day=1):
    return float((date(year, month, day) - date(2000, 1, 1)).days)


def test_failures_are_counted_by_age_of_the_machine(store):
    table = machine_histories(store, as_of=AS_OF, settings=Settings(unknown_cause="capacitor"))
    failed = table.lives.filter(pl.col("high").is_not_null())
    # A: two reports of 2008 are one failure, 2004 was before enrolment, 2012 no capacitor's;
    # B: known because of 2010, so only the recap of 2014 that says so counts
    assert failed.select("unit", "low").rows() == [
        ("A", days(2008)),
        ("A", days(2015)),
        ("B", days(2014)),
    ]
    ends = table.lives.filter(pl.col("high").is_null())
    assert ends.select("unit", "entry", "low").rows() == [
        ("A", days(2005), days(2020)),
        ("B", days(2010, 6), days(2016)),
        ("D", days(2006), days(2007)),
    ]
    assert "1 machine is left out" in table.notes[0]


def test_unknown_causes_count_by_the_share_of_known_ones(store):
    def counted(way):
        table = machine_histories(store, as_of=AS_OF, settings=Settings(unknown_cause=way))
        return table.lives.filter(pl.col("high").is_not_null())["count"].sum()

    assert counted("other") == 2.0
    assert counted("capacitor") == 3.0
    assert 2.0 < counted("share") < 3.0


def test_earlier_dates_see_less(store):
    table = machine_histories(store, as_of=date(2011, 1, 1))
    assert table.lives.filter(pl.col("high").is_not_null())["unit"].to_list() == ["A"]


def test_the_sentence_says_how_many_and_from_where(store):
    table = in_years(machine_histories(store, as_of=AS_OF))
    said = " ".join(repeated_failures(table, unit="unit", by=["model"]).notes)
    assert said.startswith("M: ")
    assert "inf" not in said
    assert "nan" not in said


def _machines(ages, count=40, end=10.0):
    rows = []
    for name in range(count):
        rows += [(0.0, a + name / 100, a + name / 100, None, 1.0, str(name)) for a in ages]
        rows.append((0.0, end, None, None, 1.0, str(name)))
    return Table(lives=pl.DataFrame(rows, schema={**LIFE, "id": pl.String}, orient="row"))


@pytest.mark.parametrize(
    ("ages", "words"),
    [
        ([7.0, 8.0, 9.0], "come faster with age"),
        ([1.0, 2.0, 3.0], "come more slowly with age"),
        ([2.0, 7.0], "Too few to say"),  # all alike: nothing to judge chance by
    ],
)
def test_pace_in_words(ages, words):
    # a tenth fail otherwise, so that the machines differ
    table = _machines(ages)
    odd = pl.DataFrame(
        [(0.0, 10.0, None, None, 1.0, f"q{i}") for i in range(9)],
        orient="row",
        schema=table.lives.schema,
    )
    answer = repeated_failures(Table(lives=pl.concat([table.lives, odd])), unit="id")
    assert words in answer.notes[0]
