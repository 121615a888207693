"""A set fitted lately: what is said beside the chances of its new parts."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.entering import create_store
from fleet.flow.importing import import_files
from fleet.flow.machine_readings import MACHINE_READINGS, readings_words
from fleet.flow.one_machine import one_machine

TODAY = date(2020, 1, 1)
UNITS = [
    "unit,model,manufactured,enrolled_on,enrolled_because",
    *(f"U{n},KM,2000-05-01,2000-05-01,working" for n in range(6)),
]
# five were recapped in 2018, two of them failed again after a month; U5 in November 2019
REPORTS = [
    "unit,kind,date,cause,positions,because,cured",
    *(f"U{n},recapped,2018-02-01,,all,planned,yes" for n in range(5)),
    *(f"U{n},failed,2018-03-01,capacitor,,," for n in range(2)),
    *(f"U{n},working,2019-06-01,,,," for n in range(2, 5)),
    "U5,recapped,2019-11-01,,all,planned,yes",
]


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("young")
    (folder / "units.csv").write_text("\n".join(UNITS) + "\n")
    (folder / "reports.csv").write_text("\n".join(REPORTS) + "\n")
    (folder / "models.csv").write_text("model\nKM\n")
    path = folder / "store.duckdb"
    create_store(path)
    done = import_files(path, [folder], today=TODAY, by=None)
    assert done.rejected.is_empty()
    return path


def said(store, unit, as_of=TODAY):
    return [text for text in one_machine(store, unit, as_of=as_of).said if "parts are new" in text]


def test_early_failures_of_its_model_stand_beside_new_parts(store):
    (text,) = said(store, "U5")
    assert "of 6 recaps of all positions of KM 2 failed again within 6 months" in text


def test_not_of_old_parts_nor_of_one_that_failed(store):
    assert said(store, "U3") == []
    assert said(store, "U0", as_of=date(2018, 6, 1)) == []


def test_nothing_where_none_failed_early(store):
    assert said(store, "U2", as_of=date(2018, 2, 20)) == []


def read(*rows):
    frame = pl.DataFrame(
        [{"position": p, "stage": s, "verdict": v} for p, s, v in rows],
    )
    return frame.select(
        pl.col(name).cast(kind) if name in frame.columns else pl.lit(None, dtype=kind).alias(name)
        for name, kind in MACHINE_READINGS.items()
    )


def test_a_bad_reading_before_the_work_is_the_old_part_s():
    words = readings_words(read(("C1", "before", "bad"), ("C2", "check", "bad")))
    assert "When last measured, C2 was beyond the limit." in words
    assert any("Before the work the part at C1 read beyond" in text for text in words)
    after = readings_words(read(("C1", "before", "bad"), ("C1", "after", "good")))
    assert "None was beyond its limit when last measured." in after
