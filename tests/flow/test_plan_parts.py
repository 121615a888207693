"""When parts can be there: from the shelf for those due first, else from the fastest supplier."""

from datetime import date

import polars as pl
import pytest

from fleet.flow.entering import create_store
from fleet.flow.importing import import_files
from fleet.flow.known import known_records
from fleet.flow.plan_parts import parts_there

DAY = date(2026, 6, 30)
_BODY = "10,20,radial,5,3,,30,yes,negative,aluminium,dc"
POSITIONS = [
    "model,position,capacitance,tolerance,voltage,temperature,diameter_mm,length_mm,lead_form,"
    "lead_spacing_mm,clearance_mm,safety_class,headroom_mm,ground_referenced,grounded_end,"
    "technology,current",
    f"KM,C1,100uF,20%,25,105,{_BODY}",
    f"KM,C2,470uF,20%,16,105,{_BODY}",
]
_PART = "10,20,radial,5,3,,aluminium,dc,500,0.1,5000"
OFFERS = [
    "part,capacitance,tolerance,voltage,temperature,diameter_mm,length_mm,lead_form,"
    "lead_spacing_mm,clearance_mm,safety_class,technology,current,ripple_ma,esr_ohm,rated_hours,"
    "supplier,price,currency,date_code,lead_days",
    f"AA,100uF,20%,25,105,{_PART},Near,0.5,XTS,2549,3",
    f"AA,100uF,20%,25,105,{_PART},Far,0.2,XTS,2549,40",
    f"BB,470uF,20%,16,105,{_PART},Far,0.4,XTS,2549,21",
]
JOBS = pl.DataFrame(
    {
        "unit": ["U1", "U2", "U3"],
        "model": "KM",
        "due_on": [date(2026, 9, 1), date(2026, 7, 1), date(2026, 8, 1)],
        "p_fail": 0.1,
    }
)


@pytest.fixture
def records(tmp_path):
    """Known records of a store with the places, the offers and what lies on the shelf."""

    def made(stock=(), offers=OFFERS, positions=POSITIONS):
        tables = {
            "models": ["model", "KM"],
            "positions": positions,
            "offers": offers,
            "stock": ["part,quantity,date_code", *stock],
        }
        files = []
        for kind, lines in tables.items():
            if len(lines) > 1:
                files.append(tmp_path / f"{kind}.csv")
                files[-1].write_text("\n".join(lines) + "\n")
        store = tmp_path / "parts.duckdb"
        store.unlink(missing_ok=True)
        create_store(store)
        done = import_files(store, files, today=DAY, by=None)
        assert done.rejected.is_empty()
        return known_records(store, ("positions", "offers", "stock"), as_of=None)

    return made


def test_each_waits_for_the_slowest_part_of_the_fastest_supplier(records):
    found = parts_there(JOBS, records(), as_of=DAY)
    assert found.there.to_list() == [date(2026, 7, 21)] * 3
    assert "by 2026-07-21" in found.notes[0]


def test_whole_sets_on_the_shelf_go_to_those_due_first(records):
    found = parts_there(JOBS, records(["AA,5,2549", "BB,2,2549"]), as_of=DAY)
    assert found.there.to_list() == [date(2026, 7, 21), DAY, DAY]
    assert "2 machines find a whole set on the shelf" in found.notes[0]


def test_half_a_set_is_no_set(records):
    found = parts_there(JOBS, records(["AA,5,2549"]), as_of=DAY)
    assert found.there.to_list() == [date(2026, 7, 21)] * 3


def test_what_nobody_said_is_not_waited_for_and_is_said(records):
    silent = [
        line.rsplit(",", 1)[0] + ("," if n else ",lead_days") for n, line in enumerate(OFFERS)
    ]
    found = parts_there(JOBS, records(offers=silent), as_of=DAY)
    assert found.there.to_list() == [DAY] * 3
    assert "How long AA and BB takes to come is not recorded" in found.notes[0]


def test_models_without_places_or_parts(records):
    known = records(positions=POSITIONS[:1])
    assert "No positions are described" in parts_there(JOBS, known, as_of=DAY).notes[0]


def test_no_part_fits(records):
    known = records(offers=[OFFERS[0], OFFERS[1].replace("100uF", "1uF")])
    found = parts_there(JOBS, known, as_of=DAY)
    assert found.there.to_list() == [DAY] * 3
    assert "No part is known to fit anything of KM" in found.notes[0]


def test_a_job_says_which_places_no_part_can_be_ordered_for(records):
    """C1 has no voltage on record; nothing on offer is like C2 (470 uF)."""
    bare = [POSITIONS[0], POSITIONS[1].replace(",25,105,", ",,105,"), POSITIONS[2]]
    found = parts_there(JOBS, records(offers=OFFERS[:3], positions=bare), as_of=DAY)
    jobs = JOBS.with_columns(reason=pl.lit("Due on 2026-07-01."))
    assert (
        found.told_in(jobs)["reason"].to_list()
        == [
            "Due on 2026-07-01. C1 not measured: no part can be ordered for it yet. "
            "No part on offer fits C2."
        ]
        * 3
    )
    whole = parts_there(JOBS, records(), as_of=DAY)
    assert whole.told_in(jobs).equals(jobs)
