"""The bench sheet as a page: what it says, and that it stands alone and prints."""

import re
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from fleet.flow import bench_words
from fleet.flow.bench_discharge import read_farads, worst_charge
from fleet.flow.bench_facts import BenchSheet, Fact, GoesIn, Measured, Place, Step, There
from fleet.flow.bench_say import wait_said
from fleet.sheets.bench_sheet import bench_sheet_page, file_name

NASTY = "<script>alert(1)</script> & \"quoted\" 'ends'"


def a_place(name="C7", **changes):
    return replace(
        Place(
            position=name,
            role="timer",
            asked="10 µF, 50 V",
            notes=(),
            there=There(
                batch="Reed-0531",
                since="from new",
                replaced=False,
                made=("code 0531 can mean 2005",),
            ),
            goes_in=GoesIn(
                part="HN-10",
                facts="10 µF, 50 V, 105 °C",
                in_short="10 µF, 50 V",
                verdict="fits with care",
                measure_first=("clearance",),
                says=("Taller than the old one.",),
                marks="radial can: stripe.",
            ),
            polar=True,
            ends=(bench_words.GROUNDED["negative"],),
            old_marks=("axial: indented end.",),
            read_off_board=False,
            harmful=False,
            sizes_first=("clearance",),
            sizes=(),
            esr_limit=4.4,
            esr_after=2.64,
            readings=(
                Measured(
                    date="2019-11-20",
                    stage="before",
                    volts_positive=5.0,
                    volts_negative=0.0,
                    esr_ohm=6.0,
                    capacitance="8.1uF",
                    remark="Beyond its limit.",
                ),
            ),
            elsewhere="2.1 ohm ESR (middle of 2 other machines)",
            steps=(Step(record="s1", text="lean it left", cause=None, position=name,
                        of_unit=False),),
        ),
        **changes,
    )  # fmt: skip


@pytest.fixture
def sheet():
    return BenchSheet(
        unit="P-1",
        model="HP9",
        as_of=date(2026, 3, 1),
        facts=(Fact(label="Where", value="shelf"),),
        model_notes=None,
        why_due="Recap now. Its parts are old.",
        history=(),
        worst=None,
        places=(a_place(),),
        parts=(),
        steps={
            "opening": (
                Step(record="s2", text="pull the knob", cause=None, position=None, of_unit=True),
            ),
            "symptom": (
                Step(record="s3", text="clicks", cause="relay plug off", position=None,
                     of_unit=False),
            ),
        },
        hold_at=("C7",),
        log_line="fleet log recapped P-1 --on ____",
        reading_lines=("C7 before ____ohm after ____ohm",),
        invented=False,
        notes=(),
    )  # fmt: skip


class Read(HTMLParser):
    """Tags in order with their attributes, and all text."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.said = [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.said.append(data)

    @property
    def text(self):
        return re.sub(r"\s+", " ", " ".join(self.said))


def test_it_stands_alone(sheet):
    html = bench_sheet_page(sheet)
    assert "http" not in html
    assert "url(" not in html
    assert "@import" not in html
    read = Read(html)
    assert {"script", "link", "img", "iframe"}.isdisjoint(tag for tag, _ in read.tags)


def test_cautions_come_before_everything_else(sheet):
    html = bench_sheet_page(sheet)
    heads = re.findall(r"<h2[^>]*>(.*?)</h2>", html)
    assert heads == [
        "Cautions first",
        "This machine",
        "Parts on the bench before the first old one comes out",
        "Opening",
        "Position by position",
        "While it is open",
        "Before power",
        "First power, and after",
        "If it does not behave",
        "Coming back",
        "Where this comes from",
    ]
    assert html.index(bench_words.IN_SHORT) < html.index("<h1>")


def test_the_short_caution_is_in_the_head_that_print_repeats(sheet):
    html = bench_sheet_page(sheet)
    head = html[html.index("<thead>") : html.index("</thead>")]
    assert bench_words.IN_SHORT in head
    assert "P-1" in head


@pytest.mark.parametrize(
    "words",
    [
        "WHO_MAY", "MAKING_SAFE", "RESISTOR", "HAZARDS", "PHOTOGRAPHS", "OPENING", "TAKING_OUT",
        "WHILE_OPEN", "BEFORE_POWER", "SAFETY_BEFORE", "FIRST_POWER", "AFTERWARDS", "TESTS_AFTER",
    ],
)  # fmt: skip
def test_every_sentence_of_the_trade_is_printed_with_the_mark_of_its_source(sheet, words):
    html = bench_sheet_page(sheet)
    text = Read(html).text
    for said in getattr(bench_words, words):
        assert said.text in text
        if said.source != bench_words.PRACTICE:
            mark = re.search(re.escape(_escaped(said.text)) + r"\s*<sup>(\w)</sup>", html)
            assert mark, said.text
            assert re.search(rf"<sup>{mark[1]}</sup> {re.escape(_escaped(said.source))}", html)


def _escaped(text):
    return text.replace("&", "&amp;").replace('"', "&#34;").replace("'", "&#39;")


@pytest.mark.parametrize(
    "standard",
    ["EN 50678", "EN 50699", "DIN VDE 0701-0702", "AS/NZS 5762", "AS/NZS 3760", "IEC 61010"],
)
def test_tests_after_repair_are_named(sheet, standard):
    # published.md section 12; names only, the documents say what is asked.
    assert standard in Read(bench_sheet_page(sheet)).text


def test_general_symptoms_stand_beside_those_kept(sheet):
    text = Read(bench_sheet_page(sheet)).text
    assert "relay plug off" in text
    assert "two look-alike connectors swapped" in text
    assert "a sensor badly seated" in text
    assert "vents hot within seconds" in text


def test_a_place_has_all_the_bench_needs(sheet):
    text = Read(bench_sheet_page(sheet)).text
    for said in (
        "Reed-0531, from new; code 0531 can mean 2005",
        "HN-10 : 10 µF, 50 V. Fits with care. Measure before ordering: clearance.",
        "Taller than the old one.",
        bench_words.GROUNDED["negative"],
        "OLD marks axial: indented end. NEW marks radial can: stripe.",
        "lean it left",
        "2019-11-20 before 5 0 6 8.1uF Beyond its limit.",
        "2.1 ohm ESR (middle of 2 other machines)",
        "continuity, both sides",
    ):
        assert said in text


def test_a_place_without_a_part_says_what_to_measure_once(sheet):
    nothing = GoesIn(
        part=None, facts="", in_short="", verdict="measure before ordering",
        measure_first=("voltage", "diameter"), says=(),
    )  # fmt: skip
    without = a_place(goes_in=nothing, sizes_first=("voltage", "diameter"))
    html = bench_sheet_page(replace(sheet, places=(without,)))
    text = Read(html).text
    assert "Goes in Measure before ordering. First: voltage, diameter. Which end" in text
    assert "C7: measure before ordering. Measure voltage, diameter." in text


def test_a_long_history_of_readings_keeps_its_last_eight(sheet):
    (one,) = a_place().readings
    many = tuple(replace(one, date=f"20{year:02}") for year in range(10, 22))
    html = bench_sheet_page(replace(sheet, places=(a_place(readings=many),)))
    assert "4 more readings, in the records" in html
    shown = re.findall(r'<th scope="row">(20\d\d) before', html)
    assert shown == [f"20{year}" for year in range(14, 22)]


def test_room_to_write_before_and_after_at_both_ends(sheet):
    html = bench_sheet_page(sheet)
    for stage, limit in (("Before", "4.4"), ("After", "2.64")):
        row = re.search(rf'<tr class="write"><th scope="row">{stage}</th>(.*?)</tr>', html)[1]
        assert row.count("<td") == 6
        assert f"up to {limit}" in row
    for head in ("+ end, V", "− end, V", "ESR, ohm", "Who, day"):
        assert head in html


def test_a_place_without_polarity_has_no_boxes_for_ends(sheet):
    flat = a_place(polar=False, ends=("No polarity.",), old_marks=(), sizes=("width", "height"))
    html = bench_sheet_page(replace(sheet, places=(flat,)))
    card = html[html.index('<section class="place"') : html.index("Places not listed above")]
    for said in ("+ end", "− end", "+ towards", "polarity as photographed", "OLD marks"):
        assert said not in card
    row = re.search(r'<tr class="write"><th scope="row">After</th>(.*?)</tr>', card)[1]
    assert row.count("<td") == 4
    assert "width" in Read(card).text


def test_a_box_in_each_place_for_batch_and_date_code_of_the_new_part(sheet):
    html = bench_sheet_page(replace(sheet, places=(a_place(), a_place("C8"))))
    assert html.count("new part, batch and date code") == 2
    assert "Batch fitted" not in html


def test_it_is_proved_dead_where_the_board_is_reached_and_at_each_harmful_place(sheet):
    stop = r"STOP:</strong> C7 .*? V, time .*?, by "
    opening = bench_sheet_page(sheet)
    assert len(re.findall(stop, opening)) == 1
    assert opening.index("STOP:") < opening.index("pull the knob")
    harmful = bench_sheet_page(replace(sheet, places=(a_place(harmful=True),)))
    assert len(re.findall(stop, harmful)) == 2
    # Without records the place is written in.
    bare = Read(bench_sheet_page(replace(sheet, places=(), hold_at=()))).text
    assert "STOP: largest capacitor found:" in bare


def test_what_is_tested_dead_comes_before_the_plug_goes_in(sheet):
    text = Read(bench_sheet_page(sheet)).text
    order = [
        text.index(said)
        for said in ("Earth continuity: from", "Insulation: live pins", "Through a current limiter",
                     "Function: a full programme", "the record of the test after repair")
    ]  # fmt: skip
    assert order == sorted(order)


def test_orientation_is_asked_for_where_ground_is_not_sure(sheet):
    floats = a_place(read_off_board=True, ends=(bench_words.NOT_GROUNDED,))
    asked = "orientation read off the board: + towards"
    assert asked not in bench_sheet_page(sheet)
    html = bench_sheet_page(replace(sheet, places=(floats,)))
    assert asked in html
    assert f'<span class="loud">{bench_words.NOT_GROUNDED}</span>' in html


def test_harmful_places_say_so(sheet):
    assert bench_words.HARMFUL_LIVE not in bench_sheet_page(sheet)
    html = bench_sheet_page(replace(sheet, places=(a_place(harmful=True),)))
    assert bench_words.HARMFUL_LIVE in html


def test_the_resistor_worked(sheet):
    import polars as pl

    rows = pl.DataFrame(
        {"position": ["C1", "C2"], "capacitance": ["100uF", None], "tolerance": ["20%", None],
         "voltage": [400.0, None]},
    )  # fmt: skip
    worked = replace(sheet, worst=worst_charge(rows, read_farads(rows)))
    text = Read(bench_sheet_page(worked)).text
    # 160,000 / 5 W = 32 kohm, E12 33 kohm, 5 x 33e3 x 120e-6 = 19.8 s.
    assert "for the highest voltage, 400 V (C1), and the highest capacitance, 120 µF (C1)" in text
    assert "5 W 32 kohm 33 kohm 19.8 s" in text
    assert "Taken where it is not sure: C2: its voltage is not known: 400 V taken." in text
    assert "Capacitance not known, so no time: C2." in text


def test_what_people_typed_is_never_markup(sheet):
    place = a_place(role=NASTY, notes=(NASTY,))
    nasty = replace(
        sheet, unit=NASTY, model=NASTY, why_due=NASTY, model_notes=NASTY, places=(place,),
        facts=(Fact(label=NASTY, value=NASTY),), log_line=NASTY, reading_lines=(NASTY,),
    )  # fmt: skip
    html = bench_sheet_page(nasty)
    assert "<script" not in html
    assert Read(html).text.count("<script>alert(1)</script>") >= 7


def test_tables_and_language_for_screen_readers(sheet):
    read = Read(bench_sheet_page(sheet))
    assert ("html", {"lang": "en"}) in read.tags
    assert all("scope" in attrs for tag, attrs in read.tags if tag == "th")
    levels = [int(tag[1]) for tag, _ in read.tags if re.fullmatch(r"h\d", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))
    ids = [attrs["id"] for _, attrs in read.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    named = {attrs["aria-labelledby"] for _, attrs in read.tags if "aria-labelledby" in attrs}
    assert named <= set(ids)


def test_invented_records_are_marked(sheet):
    assert "Invented data" not in bench_sheet_page(sheet)
    assert "Invented data" in bench_sheet_page(replace(sheet, invented=True))


def test_a_sheet_of_a_model_leaves_room_for_the_unit(sheet):
    html = bench_sheet_page(replace(sheet, unit=None, why_due=None))
    assert "For any unit of the model. Unit:" in html


@pytest.mark.parametrize(
    ("name", "file"),
    [("S-082", "sheet-S-082.html"), ("a/b c", "sheet-a_b_c.html"), ("..", "sheet-unit.html")],
)
def test_names_of_files(name, file):
    assert file_name(name) == file


@pytest.mark.parametrize(
    ("seconds", "said"), [(0.5, "500 ms"), (19.8, "19.8 s"), (931.0, "16 min"), (120.0, "2 min")]
)
def test_a_wait_is_said_in_minutes_and_never_too_short(seconds, said):
    assert wait_said(seconds) == said
