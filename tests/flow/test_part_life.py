"""Lives of parts in machines: the due list with a life given for what goes in."""

from datetime import date

import polars as pl
import pytest

from fleet.ages import DAYS_PER_YEAR
from fleet.capacitors import Rated, Use, part_life
from fleet.capacitors.part_life import years_of_units
from fleet.errors import BadInput
from fleet.flow.new_parts import new_lives

WORKING = pl.DataFrame({"unit": ["U1", "U2", "U3"]})
UNITS = pl.DataFrame(
    {
        "unit": ["U1", "U2", "U3"],
        "ambient_c": [65.0, 20.0, None],
        "hours_per_year": [4000.0, 8760.0, 0.0],
    }
)
OFFERS = pl.DataFrame(
    {
        "esr_ohm": [0.1, None, 0.02, None],
        "length_mm": [20.0, None, 12.0, None],
        "part": ["KR-470", "KR-470", "PY-1", "KR-9"],
        "rated_hours": [2000.0, None, 2000.0, None],
        "temperature": [105.0, None, 105.0, 105.0],
        "voltage": [25.0, None, 6.3, 25.0],
        "ripple_ma": [1000.0, None, 2000.0, None],
        "diameter_mm": [10.0, None, 8.0, 10.0],
        "technology": ["aluminium", None, "polymer", "aluminium"],
        "lead_form": ["radial", None, "radial", "radial"],
    }
)
RECORDS = {"units": UNITS, "offers": OFFERS}


def test_words_of_the_reports_give_no_life():
    assert new_lives("typical", WORKING, RECORDS) is None
    assert new_lives("same", WORKING, RECORDS) is None


def test_years_are_the_same_for_all():
    found = new_lives("18", WORKING, RECORDS)
    assert found.frame["new_life"].to_list() == pytest.approx([18 * DAYS_PER_YEAR] * 3)
    assert "not a promise" in found.notes[0]


def test_a_part_lives_by_the_heat_and_use_of_each_machine():
    found = new_lives("KR-470", WORKING, RECORDS)
    # 32,000 h at 65 °C in 4,000 h a year: 8 years; at 40 °C (no cooler) 2000 x 2^6.5 h in 8,760;
    # blank: 40 °C and powered all the time
    cool = 2000 * 2**6.5 / 8760
    assert cool > 15
    years = (found.frame["new_life"] / DAYS_PER_YEAR).to_list()
    assert years == pytest.approx([8.0, 15.0, 15.0])
    said = " ".join(found.notes)
    assert "8 to 15 years" in said
    assert "1 machines" not in said
    assert "upper estimate" in said


def test_the_air_beside_the_part_can_be_told():
    found = new_lives("KR-470@85", WORKING, RECORDS)
    # 2000 h x 4 in 4,000 h and in 8,760 h a year
    years = (found.frame["new_life"] / DAYS_PER_YEAR).to_list()
    assert years == pytest.approx([2.0, 8000 / 8760, 8000 / 8760])


@pytest.mark.parametrize(
    ("said", "why"),
    [
        ("better", "typical, same, a number of years, or a part"),
        ("0", "from 0.5 to 100"),
        ("nan", "from 0.5 to 100"),
        ("-3", "from 0.5 to 100"),
        ("KR-470@hot", "after the @"),
        ("PY-1", "liquid electrolyte"),
        ("KR-9", "rated hours of KR-9 are not known"),
        ("KR-470@120", "rated higher"),
    ],
)
def test_what_cannot_be_is_refused(said, why):
    with pytest.raises(BadInput, match=why):
        new_lives(said, WORKING, RECORDS)


@pytest.mark.parametrize("air", [20.0, 45.0, 65.0, 100.0])
@pytest.mark.parametrize("hours", [300.0, 4000.0, 8760.0])
def test_many_machines_at_once_agree_with_one(air, hours):
    rated = Rated(hours=2000, temperature_c=105)
    one = part_life(rated, Use(air_c=air, hours_per_year=hours)).years
    frame = pl.DataFrame({"air": [air], "hours": [hours]})
    many = frame.select(years_of_units(rated, pl.col("air"), pl.col("hours"))).item()
    assert many == pytest.approx(one, rel=1e-12)


def test_due_list_with_a_life_for_what_goes_in(demo_store):
    from fleet.flow.due import due

    day = date(2026, 6, 30)
    typical, long = (due(demo_store, as_of=day, new_parts=name) for name in ("typical", "30"))
    both = typical.frame.join(long.frame, on="unit", suffix="_long")
    assert both["p_fail"].to_list() == both["p_fail_long"].to_list()
    # a longer life to come costs less a year, so the present parts are worth less
    kept = both.drop_nulls(["optimal_age", "optimal_age_long"])
    assert kept.height > 20
    assert (kept["optimal_age_long"] < kept["optimal_age"]).all()
    assert "30 years" in long.notes[0]
    with pytest.raises(BadInput, match="posterior alone"):
        due(demo_store, as_of=day, new_parts="30", estimate="both")


def test_how_warm_the_can_runs_is_said():
    from fleet.capacitors import Ripple
    from fleet.flow.part_life import Place, life_of_part

    told = {"rated_hours": 2000.0, "temperature": 105.0, "ripple_ma": 1000.0}
    size = {"esr_ohm": 0.1, "diameter_mm": 10.0, "length_mm": 20.0}
    place = Place(air_c=65.0, ripple=(Ripple(1000.0),), told={**told, **size})
    notes = life_of_part(None, None, place, as_of=date(2026, 6, 30)).notes
    assert any("about 9.1 K above the air" in note for note in notes)  # by hand: 9.0946 K
    assert "not a promise" in notes[-1]


def test_by_air_from_forty_degrees_to_the_rating():
    from fleet.flow.part_life import Place, life_by_air

    told = {"rated_hours": 2000.0, "temperature": 85.0}
    place = Place(air_c=65.0, hours_per_year=4000.0, told=told)
    frame = life_by_air(None, None, place, as_of=date(2026, 6, 30))
    assert frame["air_c"].to_list() == [float(c) for c in range(40, 86)]
    assert frame["years_by_rule"][-1] == pytest.approx(0.5)  # 2000 h in 4,000 h a year
    assert (frame["years"] <= 15.0).all()
