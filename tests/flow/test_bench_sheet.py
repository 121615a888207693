"""What a bench sheet gathers, on records written for it."""

from datetime import date

import pytest

from fleet.errors import NotKnown
from fleet.flow import bench_words
from fleet.flow.bench_ends import ends_of
from fleet.flow.bench_log_line import quoted
from fleet.flow.bench_sheet import bench_sheet
from fleet.flow.bench_there import batch_at
from fleet.flow.entering import create_store, log_reports
from fleet.flow.importing import import_files
from fleet.frames import DUE, empty_frame

TODAY = date(2026, 3, 1)
FILES = {
    "models": """model,kind,first_made,last_made,planned_cost,failure_cost,currency,notes
HP9,heat plate,2004,2008,30,120,XTS,Four screws below.
""",
    "positions": """model,position,capacitance,tolerance,voltage,temperature,diameter_mm,length_mm,\
lead_form,ground_referenced,grounded_end,polarity_note,technology,safety_class,esr_ohm,role
HP9,C10,10uF,20%,50,85,5,11,radial,yes,negative,,aluminium,,2.2,timer
HP9,C2,47uF,20%,400,105,16,25,snap-in,no,,stripe to the fuse,aluminium,,0.9,reservoir
HP9,C3,470uF,20%,,105,10,16,axial,unknown,,,,,0.1,
HP9,C4,100uF,20%,16,105,5,11,smd,yes,,,tantalum,,0.2,
HP9,X1,100nF,20%,275,105,,,radial,no,,,film,X2,,mains filter
""",
    "batches": """batch,series,date_code,sleeve_colour
Reed-0531,Reed,0531,red
Heron-1938,Heron,1938,gold
Odd,Odd,9912,
""",
    "units": """unit,model,batch,serial,manufactured,enrolled_on,enrolled_because,site
P 1,HP9,C2:Reed-0531;C10:Odd,S77,2006,2015-01-01,working,shelf
P-2,HP9,Reed-0531,,2006,2015-01-01,working,
P-3,HP9,Reed-0531,,2006,2015-01-01,working,
""",
    "reports": """unit,date,kind,cause,positions,batch,because,symptom,cured
P 1,2016-01-05,working,,,,,,
P 1,2017-01-05,working,,,,,,
P 1,2018-01-05,working,,,,,,
P 1,2019-05-01,failed,capacitor,C3,,,does not heat,
P 1,2019-11-20,recapped,,C3;C10,Heron-1938,failure,,yes
P 1,2024-02-01,working,,,,,,
P-2,2025-02-01,working,,,,,,
P-3,2025-02-01,working,,,,,,
""",
    "readings": """unit,date,position,stage,volts_positive,volts_negative,esr_ohm
P 1,2019-11-20,C10,before,5.0,5.0,6.0
P 1,2019-11-20,C10,after,5.0,0.0,1.8
P-2,2025-02-01,C10,check,5.1,0.0,2.0
P-3,2025-02-01,C10,check,5.3,0.0,2.2
P-3,2025-02-01,C2,check,,,0.7
""",
    "steps": """model,unit,moment,position,place,text,cause
HP9,,opening,,2,lift the plate,
HP9,,opening,,1,pull the knob,
HP9,P 1,opening,,3,the knob is glued,
HP9,P-2,opening,,,not of the first machine,
HP9,,position,C2,,lean it left,
HP9,,position,C77,,a place nobody recorded,
HP9,,symptom,,,clicks,relay plug off
""",
}


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bench")
    for kind, text in FILES.items():
        (folder / f"{kind}.csv").write_text(text)
    made = folder / "bench.duckdb"
    create_store(made)
    done = import_files(made, [folder / f"{kind}.csv" for kind in FILES], today=TODAY, by=None)
    assert done.rejected.is_empty(), done.rejected
    return made


NOTHING_DUE = empty_frame(DUE)  # where the due list is not what is asked about


@pytest.fixture(scope="module")
def sheet(store):
    return bench_sheet(store, as_of=TODAY, unit="P 1")


def place(sheet, name):
    return next(one for one in sheet.places if one.position == name)


def test_places_come_in_the_order_of_their_numbers(sheet):
    assert [one.position for one in sheet.places] == ["C2", "C3", "C4", "C10", "X1"]


def test_what_is_there_follows_the_reports(sheet):
    assert place(sheet, "C2").there.batch == "Reed-0531"
    assert place(sheet, "C2").there.since == "from new (2006)"
    assert place(sheet, "C10").there.batch == "Heron-1938"
    assert place(sheet, "C10").there.since == "fitted 2019-11-20"
    assert place(sheet, "C4").there.batch is None  # a list by position that leaves it out


def test_a_date_code_is_candidates_with_the_scheme(sheet):
    (look, code) = place(sheet, "C2").there.made
    assert look == "red sleeve, series Reed"
    # 0531: week 31 of 2005; a week on each side as the rule for week 1 differs by maker.
    assert code.startswith("code 0531 can mean ")
    assert "2005 (" in code
    assert "1905" not in code


def test_a_code_that_no_build_year_allows_is_questioned(store):
    # 9912 is week 12 of 1999 or of 2099; the model was made from 2004 on.
    records = FILES["units"].splitlines()[1]
    assert "C10:Odd" in records
    early = bench_sheet(store, as_of=date(2019, 6, 1), unit="P 1", due=NOTHING_DUE)
    (_look, code) = place(early, "C10").there.made
    assert "1999" in code
    assert "read it again" in code


@pytest.mark.parametrize(
    ("text", "position", "batch"),
    [("B7", "C1", "B7"), ("C1:B7;C4:B9", "C4", "B9"), ("C1:B7", "C4", None), (None, "C1", None)],
)
def test_batch_of_a_position(text, position, batch):
    assert batch_at(text, position) == batch


def test_orientation_is_read_off_the_board_where_it_is_not_tied_to_ground(sheet):
    floats, unknown, tied = (place(sheet, name) for name in ("C2", "C3", "C10"))
    assert floats.read_off_board
    assert unknown.read_off_board
    assert not tied.read_off_board
    assert any("NOT tied to ground" in line for line in floats.ends)
    assert any("never assume" in line for line in unknown.ends)
    assert tied.ends == (bench_words.GROUNDED["negative"],)


def test_which_end_is_on_ground_is_never_guessed(sheet):
    unseen = place(sheet, "C4")  # tied to ground, the end not looked at
    assert unseen.read_off_board
    assert unseen.ends == (bench_words.GROUNDED_UNSEEN,)


@pytest.mark.parametrize(
    ("end", "note", "says", "off_board"),
    [
        ("positive", "", bench_words.GROUNDED["positive"], False),
        ("", "", bench_words.GROUNDED_UNSEEN, True),
        ("", "positive end is on ground", bench_words.GROUNDED_BY_NOTE, True),
        ("positive", "positive end is on ground", bench_words.GROUNDED["positive"], False),
        ("negative", "positive end is on ground",
         bench_words.GROUNDED_DISAGREE.format(end="negative"), True),
        ("negative", "stripe to the fuse", bench_words.GROUNDED["negative"], False),
    ],
)  # fmt: skip
def test_a_note_on_ground_is_repeated_and_never_contradicted(end, note, says, off_board):
    row = {"safety_class": None, "polarity_note": note or None, "lead_form": "radial",
           "technology": "aluminium", "ground_referenced": True, "grounded_end": end or None,
           "notes": None}  # fmt: skip
    ends = ends_of(row)
    assert ends.board[-1] == says
    assert ends.read_off_board is off_board
    assert (f"On this board: {note.capitalize()}." in ends.board) is bool(note)
    if end != "negative" or off_board:
        assert "negative end, which reads about 0 V" not in " ".join(ends.board)


def test_a_part_fitted_later_need_not_be_what_the_design_asks_for(sheet):
    later = {one.position for one in sheet.places if bench_words.FITTED_LATER in one.old_marks}
    assert later == {"C3", "C10"}


def test_which_end_by_form_and_kind(sheet):
    assert place(sheet, "C2").ends[0] == "On this board: Stripe to the fuse."
    assert any("indented end" in line for line in place(sheet, "C3").old_marks)
    assert any("POSITIVE" in line for line in place(sheet, "C4").old_marks)
    assert any("class X2" in line for line in place(sheet, "X1").ends)


def test_more_than_sixty_volts_or_nobody_knows_is_harmful(sheet):
    harmful = {one.position for one in sheet.places if one.harmful}
    assert harmful == {"C2", "C3", "X1"}
    assert "voltage not recorded" in place(sheet, "C3").asked


def test_a_box_without_polarity_has_neither_ends_nor_a_diameter(sheet):
    boxed = place(sheet, "X1")
    assert not boxed.polar
    assert boxed.old_marks == ()
    assert not boxed.read_off_board
    assert boxed.sizes == ("width", "height", "length", "lead spacing")
    assert "diameter" not in boxed.sizes_first
    assert {"width", "height"} <= set(boxed.sizes_first)
    assert place(sheet, "C2").sizes == ("lead spacing",)


def test_places_to_hold_at(sheet):
    assert sheet.hold_at == ("C2", "C3", "X1")


def test_readings_carry_what_is_odd(sheet):
    before, after = place(sheet, "C10").readings
    assert (before.stage, after.stage) == ("before", "after")
    assert "Beyond its limit" in before.remark
    assert "both ends read the same" in before.remark
    assert after.remark is None
    assert place(sheet, "C10").esr_limit == pytest.approx(4.4)  # twice a fresh part
    assert place(sheet, "C10").esr_after == pytest.approx(3.3)  # half as much again as a fresh one


def test_what_others_read_there_is_a_middle_of_two_at_least(sheet):
    assert place(sheet, "C10").elsewhere == (
        "+ end 5.2 V, − end 0 V, 2.1 ohm ESR (middle of 2 other machines)"
    )
    assert place(sheet, "C2").elsewhere is None


def test_the_resistor_is_worked_for_the_highest_volts_and_farads(sheet):
    # C3 has no voltage, X1 is on the mains: 400 V taken for both; C3 has the most farads.
    assert sheet.worst.at_volts == "C2"
    assert sheet.worst.at_farads == "C3"
    assert sheet.worst.discharge.volts == 400.0
    assert sheet.worst.discharge.farads == pytest.approx(1.2 * 470e-6)
    assert sheet.worst.assumed == (
        "C3: its voltage is not known: 400 V taken",
        "X1: it is on the mains: 400 V taken",
    )


BOARD = """model,position,capacitance,tolerance,voltage,role
M1,C1,4.7uF,20%,{volts},mains reservoir
M1,C2,4700uF,20%,25,output
"""


@pytest.mark.parametrize(("volts", "assumed"), [("400", 0), ("", 1), ("25", 1)])
def test_energy_does_not_choose_the_resistor(tmp_path, volts, assumed):
    # 0.5 C V^2: C1 0.45 J, C2 1.8 J; the table of 25 V would put 400 x 400 / 330 = 485 W into
    # the resistor.
    made = tmp_path / "board.duckdb"
    create_store(made)
    file = tmp_path / "positions.csv"
    file.write_text(BOARD.format(volts=volts))
    import_files(made, [file], today=TODAY, by=None)
    worst = bench_sheet(made, as_of=TODAY, model="M1").worst
    assert (worst.at_volts, worst.at_farads) == ("C1", "C2")
    for one in worst.discharge.resistors:
        assert 400.0**2 / one.ohm <= one.power_w
        assert one.seconds >= 5 * one.ohm * 4700e-6
    assert len(worst.assumed) == assumed


def test_steps_in_order_those_of_other_machines_left_out(sheet):
    opening = [(step.text, step.of_unit) for step in sheet.steps["opening"]]
    assert opening == [
        ("pull the knob", False),
        ("lift the plate", False),
        ("the knob is glued", True),
    ]
    assert [step.text for step in place(sheet, "C2").steps] == ["lean it left"]
    # A place that the positions do not name is not lost.
    assert [step.text for step in sheet.steps["position"]] == ["a place nobody recorded"]
    assert sheet.steps["symptom"][0].cause == "relay plug off"


def test_history_has_runs_of_working_in_one_line(sheet):
    first, failed, recapped, last = sheet.history
    assert (first.date, first.details) == ("2016-01-05 to 2018-01-05", "3 times")
    assert "does not heat" in failed.details
    assert "positions C3, C10" in recapped.details
    assert "worked afterwards" in recapped.details
    assert last.what == "seen working"


def test_why_it_is_here(sheet, store, tmp_path):
    assert sheet.why_due
    assert "not in the due list" not in sheet.why_due
    copy = tmp_path / "failed.duckdb"
    copy.write_bytes(store.read_bytes())
    log_reports(copy, "failed", ["P-2"], {"date": "2026-02-01"}, today=TODAY, by=None)
    failed = bench_sheet(copy, as_of=TODAY, unit="P-2", due=NOTHING_DUE)
    assert failed.why_due == "It is not in the due list: last report 2026-02-01, failed."


def test_a_sheet_for_any_unit_of_a_model(store):
    sheet = bench_sheet(store, as_of=TODAY, model="HP9")
    assert sheet.unit is None
    assert sheet.history == ()
    assert all(one.there is None for one in sheet.places)
    assert all(one.readings == () for one in sheet.places)
    assert [step.text for step in sheet.steps["opening"]] == ["pull the knob", "lift the plate"]
    # Every machine is another one here: 1.8, 2.0 and 2.2 ohm.
    assert "2 ohm ESR (middle of 3 other machines)" in place(sheet, "C10").elsewhere
    assert sheet.log_line.startswith("fleet log recapped ____ ")


def test_only_what_was_known_then(store):
    then = bench_sheet(store, as_of=date(2018, 6, 1), unit="P 1", due=NOTHING_DUE)
    assert [event.what for event in then.history] == ["seen working"]
    assert place(then, "C10").there.batch == "Odd"


def test_names_nobody_knows(store):
    with pytest.raises(NotKnown, match="no unit is called P1; did you mean P 1"):
        bench_sheet(store, as_of=TODAY, unit="P1")
    with pytest.raises(NotKnown, match="no model is called QQ; there are HP9"):
        bench_sheet(store, as_of=TODAY, model="QQ")


def test_a_model_without_positions_says_what_to_do(tmp_path):
    made = tmp_path / "bare.duckdb"
    create_store(made)
    file = tmp_path / "units.csv"
    file.write_text("unit,model\nZ1,ZZ\n")
    import_files(made, [file], today=TODAY, by=None)
    sheet = bench_sheet(made, as_of=TODAY, unit="Z1", due=NOTHING_DUE)
    assert sheet.places == ()
    assert sheet.worst is None
    assert "fleet add position" in sheet.notes[0]


@pytest.mark.parametrize(
    ("text", "typed"),
    [("S-1", "S-1"), ("P 1", '"P 1"'), ("a;b", '"a;b"'), ('x"y', '"x\\"y"'), ("", '""')],
)
def test_words_of_the_line_to_type(text, typed):
    assert quoted(text) == typed


OFFERS = """part,supplier,capacitance,tolerance,voltage,temperature,technology,lead_form,\
diameter_mm,length_mm,lead_spacing_mm,ripple_ma,esr_ohm,rated_hours,price,currency,date_code
HN-10,Stall,10uF,20%,50,105,aluminium,radial,5,11,2,200,1.5,2000,0.1,XTS,{code}
"""
POSITIONS = """model,position,capacitance,tolerance,voltage,temperature,technology,lead_form,\
diameter_mm,length_mm,lead_spacing_mm,clearance_mm,headroom_mm,ripple_ma,esr_ohm,\
ground_referenced,grounded_end,current
M1,C1,10uF,20%,50,105,aluminium,radial,5,11,2,2,30,100,2,yes,negative,dc
"""


@pytest.mark.parametrize(
    ("code", "stock", "part"),
    [
        ("1740", "", None),  # eight years old: nothing that may be bought
        ("1740", "HN-10,3,2601", "HN-10"),  # some fresh ones on the shelf
        ("2601", "", "HN-10"),
    ],
)
def test_a_part_of_too_old_a_date_code_is_no_part_yet(tmp_path, code, stock, part):
    made = tmp_path / "shop.duckdb"
    create_store(made)
    texts = {
        "positions": POSITIONS,
        "offers": OFFERS.format(code=code),
        "stock": f"part,quantity,date_code\n{stock}\n",
    }
    for kind, text in texts.items():
        (tmp_path / f"{kind}.csv").write_text(text)
    files = [tmp_path / f"{kind}.csv" for kind in texts if kind != "stock" or stock]
    done = import_files(made, files, today=TODAY, by=None)
    assert done.rejected.is_empty(), done.rejected
    sheet = bench_sheet(made, as_of=TODAY, model="M1")
    (one,) = sheet.places
    assert one.goes_in.part == part
    assert [needed.part for needed in sheet.parts] == ([part] if part else [])
    if part is None:
        assert one.goes_in.verdict == "no part yet"
        assert one.goes_in.says[0].startswith("HN-10 fits")
        assert "too old to buy" in one.goes_in.says[0]
        assert one.goes_in.marks is None
    else:
        assert "stripe is the negative lead" in one.goes_in.marks
        assert one.esr_after == pytest.approx(2.25)  # of the part that goes in


def test_lines_to_bring_back_have_blanks_and_no_volts_where_there_are_no_ends(sheet):
    assert sheet.log_line == (
        'fleet log recapped "P 1" --on ____ --because ____ --cured ____ --positions "____" '
        '--batch "____" --by ____ --readings-from readings.txt'
    )
    assert (
        sheet.reading_lines[0]
        == "C2 before ____/____V ____ohm ____uF after ____/____V ____ohm ____uF"
    )
    assert sheet.reading_lines[-1] == "X1 before ____ohm ____uF after ____ohm ____uF"


def test_why_no_part_fits_is_said_once(sheet):
    said = place(sheet, "C2").goes_in
    assert said.part is None
    assert not any(line.lower().startswith("no part on offer fits") for line in said.says)
