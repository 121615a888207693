"""May this part stand in for that one? Facts of the trade: common practice, no source, unless
another is named."""

import polars as pl
import pytest

from fleet.capacitors.rule import VERDICTS
from fleet.capacitors.stand_in import POINTS, STAND_INS, judge_stand_in, judge_stand_ins

FITS, CARE, NOT_KNOWN, REFUSED = VERDICTS

# A radial place at a supply's output with everything known, and a part that is the same.
PLACE = {
    "capacitance": "1000uF",
    "tolerance": "20%",
    "voltage": 25.0,
    "temperature": 105.0,
    "diameter_mm": 10.0,
    "length_mm": 20.0,
    "lead_form": "radial",
    "lead_spacing_mm": 5.0,
    "clearance_mm": 1.0,
    "headroom_mm": 30.0,
    "ground_referenced": True,
    "grounded_end": "negative",
    "technology": "aluminium",
    "ripple_ma": 1200.0,
    "esr_ohm": 0.06,
    "rated_hours": 5000.0,
    "role": "12 V output",
}
PART = {key: PLACE[key] for key in PLACE if key not in ("role", "clearance_mm", "headroom_mm")}
AXIAL_PLACE = {
    **PLACE,
    "lead_form": "axial",
    "diameter_mm": 12.5,
    "length_mm": 30.0,
    "lead_spacing_mm": 40.0,
}
AXIAL = {**PART, "lead_form": "axial", "diameter_mm": 12.5, "length_mm": 30.0}


def judged(place=None, part=None):
    return judge_stand_in({**PLACE, **(place or {})}, {**PART, **(part or {})})


def reason(found, point):
    told = [one for one in found.reasons if one.point == point]
    assert len(told) == 1, f"{point}: {told}"
    return told[0]


def test_the_same_part_fits_and_every_reason_has_a_source():
    found = judged()
    assert found.verdict == FITS
    assert found.measure_first == ()
    assert {one.verdict for one in found.reasons} == {FITS}
    assert all(one.sentence and one.source for one in found.reasons)


def test_the_verdict_is_the_worst_of_its_reasons():
    found = judged(part={"voltage": 16.0, "rated_hours": 2000.0})
    assert found.verdict == REFUSED
    assert {one.point for one in found.reasons if one.verdict != FITS} == {"voltage", "endurance"}


# --- ratings ---------------------------------------------------------------------------------


@pytest.mark.parametrize("volts", [40.0, 50.0, 63.0, 100.0])
def test_voltage_not_below_the_original_fits(volts):
    assert judged(place={"voltage": 40.0}, part={"voltage": volts}).verdict == FITS


def test_35_volts_for_40_are_refused_though_everything_else_fits():
    found = judged(place={"voltage": 40.0}, part={"voltage": 35.0})
    assert found.verdict == REFUSED
    assert [one.point for one in found.reasons if one.verdict != FITS] == ["voltage"]
    assert "look for 50 V or more" in reason(found, "voltage").sentence


@pytest.mark.parametrize(
    "role", ["right behind the power supply", "mains reservoir", "behind a regulator"]
)
def test_85_degrees_for_105_are_refused_above_all_behind_the_power_supply(role):
    found = judged(place={"role": role}, part={"temperature": 85.0})
    assert found.verdict == REFUSED
    assert "right at the power supply" in reason(found, "temperature").sentence


def test_a_lower_temperature_is_refused_anywhere_and_a_higher_one_fits():
    found = judged(place={"role": "fan driver"}, part={"temperature": 85.0})
    assert reason(found, "temperature").verdict == REFUSED
    assert "power supply" not in reason(found, "temperature").sentence
    assert judged(place={"temperature": 85.0}).verdict == FITS


def test_a_shorter_endurance_needs_care():
    assert judged(part={"rated_hours": 2000.0}).verdict == CARE


# --- capacitance -----------------------------------------------------------------------------


@pytest.mark.parametrize("spelling", ["1000µF", "1 mF", "1000 MFD", "1m0"])
def test_the_same_value_in_any_spelling(spelling):
    assert judged(part={"capacitance": spelling}).verdict == FITS


@pytest.mark.parametrize(
    ("old", "new", "verdict"),
    [
        ("5uF", "4u7", FITS),
        ("8uF", "8u2", FITS),
        ("8uF", "10uF", FITS),
        ("16uF", "15uF", FITS),
        ("25uF", "27uF", FITS),
        ("25uF", "22uF", CARE),  # nearest, and 12 % below
        ("32uF", "33uF", FITS),
        ("50uF", "47uF", FITS),
        ("64uF", "68uF", FITS),
        ("250uF", "270uF", FITS),
        ("50uF", "33uF", REFUSED),
    ],
)
def test_values_made_no_more_take_the_nearest_that_is(old, new, verdict):
    # Old sets were marked -10/+50 % where they told a tolerance at all; IEC 60063 from memory.
    found = judged(place={"capacitance": old, "tolerance": None}, part={"capacitance": new})
    told = reason(found, "capacitance")
    assert told.verdict == verdict
    if verdict != REFUSED:
        assert told.source == "IEC 60063 (from memory)"
        assert "made no more" in told.sentence


def test_a_value_below_its_nearest_fits_where_the_old_tolerance_allows():
    found = judged(place={"capacitance": "25uF", "tolerance": "20%"}, part={"capacitance": "22uF"})
    assert reason(found, "capacitance").verdict == FITS


def test_a_value_that_its_tolerance_may_take_outside_needs_care():
    found = judged(part={"capacitance": "820uF", "tolerance": "20%"})
    assert found.verdict == CARE
    assert "800 µF to 1200 µF" in reason(found, "capacitance").sentence


def test_a_narrow_part_inside_the_range_fits():
    assert judged(part={"capacitance": "910uF", "tolerance": "5%"}).verdict == FITS


def test_too_small_a_value_is_refused():
    assert judged(part={"capacitance": "680uF"}).verdict == REFUSED


def test_an_asymmetric_tolerance_is_a_range_of_its_own():
    place = {"tolerance": "-10/+50"}
    assert reason(judged(place, {"capacitance": "1500uF"}), "capacitance").verdict == CARE
    assert reason(judged(place, {"capacitance": "820uF"}), "capacitance").verdict == REFUSED


def test_much_more_behind_a_rectifier_needs_care_for_the_rush_of_current():
    found = judged(place={"role": "behind the rectifier"}, part={"capacitance": "2200uF"})
    assert found.verdict == CARE
    assert "rushes in at switching on" in reason(found, "capacitance").sentence


def test_more_where_the_value_sets_a_time_is_refused():
    found = judged(place={"role": "reset delay"}, part={"capacitance": "2200uF"})
    assert found.verdict == REFUSED


def test_more_where_nobody_said_what_the_place_does_asks_first():
    found = judged(place={"role": None}, part={"capacitance": "2200uF"})
    assert found.verdict == CARE
    assert "what the place does" in found.measure_first


def test_more_than_five_times_is_refused():
    assert judged(part={"capacitance": "10000uF"}).verdict == REFUSED


# --- ripple and ESR --------------------------------------------------------------------------


def test_less_ripple_or_more_esr_is_refused_at_a_supply():
    assert judged(part={"ripple_ma": 800.0}).verdict == REFUSED
    assert judged(part={"esr_ohm": 0.2}).verdict == REFUSED


def test_a_little_less_needs_a_look_at_the_data_sheets():
    assert judged(part={"ripple_ma": 1150.0}).verdict == CARE
    assert judged(part={"esr_ohm": 0.063}).verdict == CARE


def test_where_little_flows_ripple_and_esr_matter_less():
    found = judged(place={"role": "reset delay"}, part={"ripple_ma": 800.0, "esr_ohm": 0.2})
    assert found.verdict == CARE


def test_a_much_lower_esr_behind_a_regulator_needs_care():
    place = {"role": "output of the 5 V regulator"}
    found = judged(place, {"esr_ohm": 0.015})
    assert found.verdict == CARE
    assert "oscillate" in reason(found, "ESR").sentence
    assert judged(place, {"esr_ohm": 0.05}).verdict == FITS
    assert judged(part={"esr_ohm": 0.015}).verdict == FITS  # no regulator


def test_what_the_data_sheet_tells_is_to_be_looked_up():
    found = judged(part={"ripple_ma": None, "esr_ohm": None})
    assert found.verdict == CARE
    assert set(found.measure_first) == {"ripple of the part", "ESR of the part"}


# --- body and leads --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("diameter", "clearance", "verdict", "measure"),
    [
        (10.0, None, FITS, ()),
        (8.0, None, FITS, ()),
        (11.0, 1.0, FITS, ()),
        (12.5, 1.0, REFUSED, ()),
        (12.5, None, CARE, ("clearance",)),
    ],
)
def test_diameter_against_the_room_beside_it(diameter, clearance, verdict, measure):
    found = judged({"clearance_mm": clearance}, {"diameter_mm": diameter, "lead_spacing_mm": 5.0})
    assert reason(found, "diameter").verdict == verdict
    assert found.measure_first == measure


@pytest.mark.parametrize(
    ("length", "headroom", "verdict"),
    [
        (20.0, None, FITS),
        (21.0, None, FITS),  # the clearance of 1 mm
        (25.0, None, CARE),
        (25.0, 30.0, FITS),
        (29.0, 30.0, CARE),  # its vent wants 2 mm (makers' data sheets, from memory)
        (31.0, 30.0, REFUSED),
    ],
)
def test_height_under_the_cover(length, headroom, verdict):
    found = judged({"headroom_mm": headroom}, {"length_mm": length})
    assert reason(found, "height").verdict == verdict


def test_a_radial_part_may_replace_an_axial_one_where_its_height_is_allowed():
    place = {**AXIAL_PLACE, "headroom_mm": 25.0}
    found = judge_stand_in(place, PART)
    assert found.verdict == CARE
    assert "stands on the board" in reason(found, "lead form").sentence
    assert "indented end" in reason(found, "lead form").sentence
    assert judge_stand_in({**place, "headroom_mm": 18.0}, PART).verdict == REFUSED


def test_a_radial_part_in_an_axial_place_asks_for_the_height_nobody_measured():
    found = judge_stand_in({**AXIAL_PLACE, "headroom_mm": None}, PART)
    assert found.verdict == CARE
    assert found.measure_first == ("headroom",)


def test_an_axial_part_lies_and_its_diameter_is_its_height():
    assert judge_stand_in({**AXIAL_PLACE, "headroom_mm": 13.0}, AXIAL).verdict == FITS
    assert judge_stand_in({**AXIAL_PLACE, "headroom_mm": 12.0}, AXIAL).verdict == REFUSED


@pytest.mark.parametrize("part", [{}, {"diameter_mm": 14.0, "length_mm": 35.0}])
@pytest.mark.parametrize("place", [{"diameter_mm": 14.0, "length_mm": 35.0}])
def test_an_uncommon_axial_body_is_measured_before_it_is_ordered(place, part):
    found = judge_stand_in({**AXIAL_PLACE, **place, "clearance_mm": None}, {**AXIAL, **part})
    assert found.verdict == CARE
    assert "clearance" in found.measure_first
    settled = judge_stand_in({**AXIAL_PLACE, **place, "clearance_mm": 1.0}, {**AXIAL, **part})
    assert settled.measure_first == ()


def test_an_uncommon_axial_part_in_a_common_place_is_measured_first():
    odd = {**AXIAL, "diameter_mm": 14.0, "length_mm": 35.0}
    found = judge_stand_in({**AXIAL_PLACE, "clearance_mm": None}, odd)
    assert found.verdict == CARE
    assert found.measure_first == ("clearance",)


def test_an_axial_body_has_to_go_between_its_holes():
    long = {**AXIAL, "length_mm": 42.0}
    found = judge_stand_in({**AXIAL_PLACE, "clearance_mm": 15.0}, long)
    assert reason(found, "lead spacing").verdict == REFUSED


@pytest.mark.parametrize(
    ("place", "part", "verdict"),
    [
        ("radial", "axial", CARE),
        ("axial", "radial", CARE),
        ("snap-in", "radial", CARE),
        ("smd", "radial", CARE),
        ("radial", "snap-in", REFUSED),
        ("radial", "smd", REFUSED),
        ("snap-in", "axial", REFUSED),
        ("axial", "snap-in", REFUSED),
    ],
)
def test_lead_forms(place, part, verdict):
    found = judged({"lead_form": place}, {"lead_form": part})
    assert reason(found, "lead form").verdict == verdict


@pytest.mark.parametrize(
    ("form", "place", "part", "verdict"),
    [
        ("radial", 5.0, 5.08, FITS),
        ("radial", 7.5, 5.0, CARE),
        ("radial", 10.0, 2.0, REFUSED),
        ("snap-in", 10.0, 10.0, FITS),
        ("snap-in", 10.0, 12.5, REFUSED),
        ("radial", None, 5.0, CARE),
        ("radial", 5.0, None, FITS),  # 10 mm across: 5 mm is usual
        ("radial", 7.5, None, CARE),
    ],
)
def test_lead_spacing(form, place, part, verdict):
    found = judged(
        {"lead_form": form, "lead_spacing_mm": place}, {"lead_form": form, "lead_spacing_mm": part}
    )
    assert reason(found, "lead spacing").verdict == verdict


# --- polarity and technology -----------------------------------------------------------------


def test_a_place_with_voltage_at_both_ends_is_read_from_the_board():
    found = judged(place={"ground_referenced": False})
    assert found.verdict == CARE
    assert "both ends of the place carry voltage" in reason(found, "orientation").sentence
    assert "read from the board" in reason(found, "orientation").sentence


def test_nobody_recorded_whether_it_is_tied_to_ground():
    found = judged(place={"ground_referenced": None, "grounded_end": None})
    assert found.verdict == CARE
    assert "read from the board which end is positive" in reason(found, "orientation").sentence
    assert found.measure_first == ()  # it does not keep the part from being ordered


def test_the_end_tied_to_ground_reads_about_nothing():
    assert "negative end is tied to ground" in reason(judged(), "orientation").sentence
    assert "about 0 V" in reason(judged(), "orientation").sentence


def test_on_a_negative_rail_the_positive_end_is_on_ground():
    found = judged(place={"grounded_end": "positive", "role": "minus 12 V output"})
    told = reason(found, "orientation")
    assert told.verdict == CARE
    assert "POSITIVE end is tied to ground" in told.sentence
    assert "about 0 V" not in told.sentence


@pytest.mark.parametrize("note", [None, "positive end is on ground"])
def test_which_end_is_on_ground_is_never_claimed_where_nobody_looked(note):
    told = reason(judged(place={"grounded_end": None, "notes": note}), "orientation")
    assert told.verdict == CARE
    assert "see which end" in told.sentence
    assert "about 0 V" not in told.sentence
    assert note is None or f'"{note}"' in told.sentence


def test_a_note_that_names_the_other_end_is_repeated_and_not_overruled():
    told = reason(judged(place={"polarity_note": "negative rail, plus on ground"}), "orientation")
    assert told.verdict == CARE
    assert '"negative rail, plus on ground"' in told.sentence


# --- direct and alternating current ------------------------------------------------------------

FILM_400 = {"technology": "film", "voltage": 400.0, "capacitance": "4u7"}
MOTOR = {**FILM_400, "role": "motor run capacitor 400 V AC"}


@pytest.mark.parametrize(
    ("place", "part", "verdict"),
    [
        ({**MOTOR, "current": "ac"}, {**FILM_400, "current": "dc"}, REFUSED),
        ({**MOTOR, "current": "ac"}, FILM_400, CARE),
        ({**MOTOR, "current": "ac"}, {**FILM_400, "current": "ac"}, FITS),
        (MOTOR, {**FILM_400, "current": "dc"}, REFUSED),  # its role says AC
        ({**MOTOR, "role": "motor run capacitor"}, {**FILM_400, "current": "dc"}, CARE),
        ({**FILM_400, "role": "mains"}, {**FILM_400, "current": "ac"}, CARE),
        ({**FILM_400, "current": "dc"}, {**FILM_400, "current": "ac"}, CARE),
        ({**FILM_400, "current": "dc"}, {**FILM_400, "current": "dc"}, FITS),
        ({**FILM_400, "current": "dc"}, FILM_400, FITS),
        ({"current": "ac"}, {"current": "ac"}, REFUSED),  # an electrolytic, whatever it claims
        ({"current": "ac", "voltage": None}, {"technology": "polymer"}, REFUSED),
        ({"role": "motor start capacitor", "polarity_note": "bipolar"}, {}, CARE),
        ({"role": "mains reservoir", "current": None}, {}, FITS),  # polarised: direct current
    ],
)
def test_volts_of_direct_and_of_alternating_current(place, part, verdict):
    assert reason(judged(place, part), "voltage").verdict == verdict


def test_nobody_said_which_current_is_measured_or_asked_first():
    x2 = {**FILM_400, "safety_class": "X2", "voltage": 275.0, "role": "mains filter"}
    found = judged(x2, {**x2, "current": "ac"})
    assert found.verdict == CARE
    assert found.measure_first == ("current",)
    settled = judged({**x2, "current": "ac"}, {**x2, "current": "ac"})
    assert settled.measure_first == ()
    assert reason(settled, "voltage").verdict == FITS


@pytest.mark.parametrize("note", ["non-polar", "bipolar", "NP", "takes either way: non polar"])
def test_a_polarised_part_is_refused_where_a_non_polar_one_was(note):
    assert judged(place={"polarity_note": note}).verdict == REFUSED
    assert judged({"polarity_note": note}, {"polarity_note": "bipolar"}).verdict == FITS


def test_a_non_polar_part_may_replace_a_polarised_one():
    found = judged(place={"ground_referenced": False}, part={"polarity_note": "non-polar"})
    assert found.verdict == FITS  # it goes in either way round


@pytest.mark.parametrize(
    ("part", "mark"),
    [
        ({"technology": "tantalum", "lead_form": "smd"}, "its stripe is the POSITIVE end"),
        ({"technology": "moulded polymer chip", "lead_form": "smd"}, "stripe is the POSITIVE end"),
        ({"technology": "polymer can", "lead_form": "smd"}, "bar on its top is the negative end"),
        ({"technology": "polymer", "lead_form": "smd"}, "as a round can the bar"),
        ({"technology": "polymer", "lead_form": "radial"}, "its stripe is the negative lead"),
        ({"technology": "hybrid", "lead_form": "snap-in"}, "its stripe is the negative terminal"),
        ({"technology": "tantalum", "lead_form": "radial"}, "plus sign or the longer lead"),
    ],
)
def test_the_mark_of_the_new_part_is_that_of_its_form(part, mark):
    told = reason(judged(part={"voltage": 50.0, **part}), "technology").sentence
    old, new = told.split("; on the new one ")
    assert old.endswith(
        "on the old part its stripe is the negative lead, the longer lead the positive"
    )
    assert mark in new


def test_a_tantalum_part_is_run_at_half_its_voltage_and_never_behind_a_rectifier():
    found = judged(part={"technology": "tantalum"})
    assert "at most half of its 25 V" in reason(found, "technology").sentence
    assert found.measure_first == ("voltage in operation",)
    behind = judged({"role": "behind the rectifier"}, {"technology": "tantalum", "voltage": 63.0})
    assert behind.verdict == REFUSED


@pytest.mark.parametrize(
    ("was", "new", "verdict"),
    [
        ("aluminium", "electrolytic", FITS),
        ("aluminium", "aluminium polymer", CARE),
        ("aluminium", "hybrid polymer", CARE),
        ("aluminium", "film", CARE),
        ("aluminium", "ceramic X7R", CARE),
        ("tantalum", "aluminium", CARE),
        ("tantalum", "polymer", CARE),
        ("polymer", "polymer", FITS),
        ("film", "aluminium", REFUSED),
        ("ceramic", "tantalum", REFUSED),
        ("aluminium", None, CARE),
    ],
)
def test_changes_of_technology(was, new, verdict):
    found = judged({"technology": was}, {"technology": new})
    assert reason(found, "technology").verdict == verdict


def test_aluminium_for_polymer_only_with_an_esr_as_low():
    assert reason(judged({"technology": "polymer"}), "technology").verdict == CARE
    found = judged({"technology": "polymer"}, {"esr_ohm": None})
    assert reason(found, "technology").verdict == REFUSED


# --- what nobody recorded --------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fact", "measure"),
    [
        ("voltage", "voltage"),
        ("temperature", "temperature"),
        ("capacitance", "capacitance"),
        ("lead_form", "lead form"),
        ("diameter_mm", "diameter"),
        ("lead_spacing_mm", "lead spacing"),
    ],
)
def test_an_unknown_fact_of_the_place_is_measured_and_never_guessed(fact, measure):
    found = judged(place={fact: None})
    assert found.verdict == (NOT_KNOWN if fact in ("voltage", "capacitance") else CARE)
    assert measure in found.measure_first


@pytest.mark.parametrize("fact", ["voltage", "temperature", "capacitance", "lead_form"])
def test_an_unknown_fact_of_the_part_is_looked_up(fact):
    found = judged(part={fact: None})
    assert found.verdict == (NOT_KNOWN if fact in ("voltage", "capacitance") else CARE)
    assert f"{fact.replace('_', ' ')} of the part" in found.measure_first


def test_nothing_is_to_be_measured_for_a_part_that_is_refused():
    found = judged(place={"lead_spacing_mm": None}, part={"voltage": 16.0})
    assert found.verdict == REFUSED
    assert found.measure_first == ()


# --- frames ----------------------------------------------------------------------------------


def test_a_frame_of_pairs_says_what_single_pairs_say():
    changes = [{}, {"voltage": 16.0}, {"lead_form": "axial"}, {"capacitance": None}]
    places = [{**PLACE, **c, "model": "M", "position": f"C{i}"} for i, c in enumerate(changes)]
    parts = [{**PART, **c, "part": f"P{i}"} for i, c in enumerate(changes)]
    frame = judge_stand_ins(pl.DataFrame(places), pl.DataFrame(parts))
    assert frame.schema == STAND_INS
    assert frame.height == 16
    rows = frame.rows(named=True)
    pairs = [(place, part) for place in places for part in parts]
    for row, (place, part) in zip(rows, pairs, strict=True):
        one = judge_stand_in(place, part)
        assert (row["position"], row["part"]) == (place["position"], part["part"])
        assert row["verdict"] == one.verdict
        assert tuple(row["measure_first"]) == one.measure_first
        assert [r["sentence"] for r in row["reasons"]] == [r.sentence for r in one.reasons]


def test_no_reason_strays_to_another_pair():
    # Eighty places and parts, each with volts of its own: every verdict can be told beforehand.
    places = [{**PLACE, "model": "M", "position": f"C{n}", "voltage": n} for n in range(1, 81)]
    parts = [{**PART, "part": f"P{n}", "voltage": n} for n in range(80, 0, -1)]
    frame = judge_stand_ins(pl.DataFrame(places), pl.DataFrame(parts))
    asked = frame["position"].str.strip_prefix("C").cast(pl.Int64)
    given = frame["part"].str.strip_prefix("P").cast(pl.Int64)
    assert asked.to_list() == [n for n in range(1, 81) for _ in range(80)]
    assert given.to_list() == [*range(80, 0, -1)] * 80
    expected = [FITS if g >= a else REFUSED for a, g in zip(asked, given, strict=True)]
    assert frame["verdict"].to_list() == expected
    first = frame["reasons"].list.first().struct.field("sentence")
    assert first.str.extract(r"rated for (\d+) V").cast(pl.Int64).to_list() == given.to_list()


def test_a_part_listed_at_several_prices_is_one_part():
    parts = [
        {**PART, "part": "P", "price": p, "temperature": t} for p, t in ((1, None), (2, 105.0))
    ]
    frame = judge_stand_ins(
        pl.DataFrame([{**PLACE, "model": "M", "position": "C1"}]), pl.DataFrame(parts)
    )
    assert frame["verdict"].to_list() == [FITS]


def test_no_places_and_no_parts_are_no_pairs():
    places = pl.DataFrame([{**PLACE, "model": "M", "position": "C1"}])
    parts = pl.DataFrame([{**PART, "part": "P"}])
    assert judge_stand_ins(places.clear(), parts).schema == STAND_INS
    assert judge_stand_ins(places, parts.clear()).is_empty()
    assert judge_stand_ins(places.clear(), parts.clear()).is_empty()


def test_a_part_that_is_only_a_name_is_all_questions():
    places = pl.DataFrame([{**PLACE, "model": "M", "position": "C1"}])
    frame = judge_stand_ins(places, pl.DataFrame({"part": ["P"]}))
    assert frame["verdict"].to_list() == [NOT_KNOWN]
    assert "voltage of the part" in frame["measure_first"][0].to_list()


@pytest.mark.parametrize("point", POINTS, ids=lambda point: point.name)
def test_every_rule_has_words_and_a_source(point):
    assert point.rules
    for rule in point.rules:
        assert rule.verdict in VERDICTS
        assert rule.source
        # What has to be measured leaves the question open: it is never plainly "fits".
        assert rule.verdict != FITS or not rule.measure
