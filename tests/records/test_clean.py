"""Cells and rows: what is kept, as what, and what is refused with which words."""

from datetime import date

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.frames import KINDS, REJECTED, check_frame, clean_schema
from fleet.records import (
    Meta,
    RawTable,
    clean,
    hemispheres_of,
    raise_entered_on,
)

TODAY = date(2026, 11, 25)
REPORT = {"unit": "A1", "date": "2020-05-04", "kind": "working"}
PLACE = {"model": "M", "position": "C1"}
UNIT = {"unit": "A1", "model": "BK3"}


def kept_one(result):
    assert result.rejected.height == 0, result.rejected["reason"].to_list()
    return result.kept.row(0, named=True)


def refused_one(result):
    assert result.kept.height == 0
    (reason,) = result.rejected["reason"]
    return reason


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_keeps_its_contract_with_and_without_rows(raw, kind):
    required = {c.name: "2020" if c.form == "date" else c.choices[0] if c.choices else "1"
                for c in KINDS[kind].columns if c.required} or {"labour_rate": "30"}  # fmt: skip
    for table in (raw(kind, required), RawTable(kind=kind, file="x", frame=pl.DataFrame(
            schema={**dict.fromkeys(required, pl.String), "line": pl.Int64}))):  # fmt: skip
        result = clean(table, today=TODAY)
        check_frame(result.kept, clean_schema(kind), name=kind)
        check_frame(result.rejected, REJECTED, name="rejected")
        assert result.kept.columns == clean_schema(kind).names()
        assert result.kept.height == table.rows


def test_cells_are_stripped_and_blank_is_unknown(cleaned):
    row = kept_one(
        cleaned("units", {**UNIT, "serial": "  ", "site": " Shed 2 ", "notes": "a\r\nb"})
    )
    assert (row["serial"], row["site"], row["notes"]) == (None, "Shed 2", "a\nb")


def test_accents_in_one_form(cleaned):
    row = kept_one(cleaned("units", {**UNIT, "site": "Cafe\u0301"}))
    assert row["site"] == "Caf\u00e9"


def test_required_cells(cleaned):
    assert refused_one(cleaned("units", {"unit": " ", "model": "M"})) == "unit is blank; fill it in"


def test_all_that_is_wrong_with_a_row_is_said(cleaned):
    reason = refused_one(cleaned("reports", {"unit": "A1", "date": "x", "kind": "faild"}))
    assert reason.count("; ") >= 2
    assert "did you mean failed?" in reason
    assert "date 'x'" in reason


def test_refused_rows_keep_line_and_cells(cleaned):
    result = cleaned("units", UNIT, {"unit": 'A"2', "model": None, "notes": " kept, as é "})
    (row,) = result.rejected.rows(named=True)
    assert (row["file"], row["kind"], row["line"]) == ("units.csv", "units", 3)
    assert row["row"] == '{"unit":"A\\"2", "notes":" kept, as é "}'
    assert result.kept["unit"].to_list() == ["A1"]


@pytest.mark.parametrize(
    ("text", "value"),
    [("12", 12.0), ("12.5", 12.5), (".5", 0.5), ("1e3", 1000.0), ("+7", 7.0), ("0", 0.0)],
)
def test_numbers(cleaned, text, value):
    assert kept_one(cleaned("units", {**UNIT, "hours_per_year": text}))["hours_per_year"] == value


def test_minus_nought_is_nought(cleaned):
    value = kept_one(cleaned("units", {**UNIT, "ambient_c": "-0"}))["ambient_c"]
    assert str(value) == "0.0"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("12,5", "has a comma; write a point before decimals"),
        ("1,234.5", "has a comma"),
        ("1 234", "is not a number"),
        ("25 h", "write the number alone, in h/year"),
        ("NaN", "is not a number"),
        ("inf", "is not a number"),
        ("1e999", "is too large"),
        ("-3", "is negative"),
        ("0x10", "is not a number"),
        ("1_000", "is not a number"),
        ("9000", "more than a year has"),
    ],
)
def test_numbers_refused(cleaned, text, words):
    assert words in refused_one(cleaned("units", {**UNIT, "hours_per_year": text}))


def test_negative_where_it_makes_sense(cleaned):
    assert kept_one(cleaned("units", {**UNIT, "ambient_c": "-5.5"}))["ambient_c"] == -5.5


@pytest.mark.parametrize(("text", "value"), [("4", 4), ("4.0", 4)])
def test_whole_numbers(cleaned, text, value):
    assert kept_one(cleaned("stock", {"part": "p", "quantity": text}))["quantity"] == value


@pytest.mark.parametrize("text", ["4.5", "1e17", "x", "-1"])
def test_whole_numbers_refused(cleaned, text):
    assert "quantity" in refused_one(cleaned("stock", {"part": "p", "quantity": text}))


@pytest.mark.parametrize("text", ["failed", "FAILED", " Failed "])
def test_choices_whatever_the_case(cleaned, text):
    assert kept_one(cleaned("reports", {**REPORT, "kind": text}))["kind"] == "failed"


@pytest.mark.parametrize(
    ("text", "value"),
    [("yes", True), ("Y", True), ("TRUE", True), ("1", True), ("no", False), ("0", False),
     ("false", False), ("n", False), ("unknown", None), ("", None)],
)  # fmt: skip
def test_yes_and_no(cleaned, text, value):
    row = kept_one(cleaned("reports", {**REPORT, "kind": "failed", "found_dead": text}))
    assert row["found_dead"] is value


def test_yes_or_no_refused(cleaned):
    reason = refused_one(cleaned("reports", {**REPORT, "kind": "failed", "found_dead": "maybe"}))
    assert "'maybe' is not yes, no or unknown" in reason


@pytest.mark.parametrize(
    ("kind", "row", "words"),
    [
        ("units", {**UNIT, "unit": "A" * 201}, "unit has 201 characters, more than 200"),
        ("units", {**UNIT, "site": "A" * 2001}, "site has 2001 characters, more than 2,000"),
        ("units", {**UNIT, "notes": "A" * 20_001}, "notes has 20001 characters"),
        ("units", {**UNIT, "unit": "A\nB"}, "holds a line break or control character"),
        ("units", {**UNIT, "unit": "A\u202eB"}, "turns the direction of writing"),
        ("units", {**UNIT, "unit": "A\u2069B"}, "turns the direction of writing"),
        ("units", {**UNIT, "notes": "a\x07b"}, "notes holds a control character"),
        ("reports", {**REPORT, "batch": "A" * 10_000}, "batch has 10000 characters"),
        ("reports", {**REPORT, "by": "A" * 10_000}, "by has 10000 characters"),
    ],
)
def test_cells_too_long_or_with_control_characters(cleaned, kind, row, words):
    assert words in refused_one(cleaned(kind, row))


def test_long_notes_are_kept_whole(cleaned):
    notes = "long\nnotes\t" * 1_000
    row = kept_one(cleaned("reports", {**REPORT, "notes": notes, "symptom": "x" * 10_000}))
    assert row["notes"] == notes.strip()
    assert len(row["symptom"]) == 10_000


def test_dates_keep_their_text(cleaned):
    row = kept_one(cleaned("units", {**UNIT, "manufactured": "199X"}))
    assert (row["manufactured"], row["manufactured_earliest"], row["manufactured_latest"]) == (
        "199X", date(1990, 1, 1), date(1999, 12, 31),
    )  # fmt: skip


def test_nobody_reports_the_future(cleaned):
    row = kept_one(cleaned("reports", {**REPORT, "date": "2026"}))
    assert (row["date_earliest"], row["date_latest"]) == (date(2026, 1, 1), TODAY)
    row = kept_one(cleaned("reports", {**REPORT, "date": "2026", "entered_on": "2026-03-01"}))
    assert row["date_latest"] == date(2026, 3, 1)
    row = kept_one(cleaned("reports", {**REPORT, "date": "2024/.."}))
    assert row["date_latest"] == TODAY


def test_blank_entered_on_is_the_own_date_and_marked(cleaned):
    row = kept_one(cleaned("reports", {**REPORT, "date": "2020-05"}))
    assert (row["entered_on"], row["reconstructed"]) == (date(2020, 5, 31), True)
    row = kept_one(cleaned("models", {"model": "M"}))
    assert (row["entered_on"], row["reconstructed"]) == (None, True)
    row = kept_one(cleaned("units", {**UNIT, "enrolled_on": "2019", "entered_on": "2020-01-01"}))
    assert (row["entered_on"], row["reconstructed"]) == (date(2020, 1, 1), False)


def test_entered_on_is_raised_to_the_enrolment_where_reconstructed(cleaned):
    kept = cleaned(
        "reports",
        REPORT,
        {**REPORT, "entered_on": "2020-05-04"},
        {**REPORT, "unit": "B"},
        {**REPORT, "date": "2024-01-01"},
    ).kept
    enrolled = pl.DataFrame({"unit": ["A1"], "enrolled_on_latest": [date(2022, 1, 1)]})
    assert raise_entered_on(kept, enrolled)["entered_on"].to_list() == [
        date(2022, 1, 1), date(2020, 5, 4), date(2020, 5, 4), date(2024, 1, 1),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("kind", "row", "words"),
    [
        ("reports", {**REPORT, "date": "2027"}, "date 2027 is after today, 2026-11-25"),
        ("reports", {**REPORT, "entered_on": "2027-01-01"}, "entered_on 2027-01-01 is after today"),
        ("reports", {**REPORT, "entered_on": "2020-05"}, "entered_on '2020-05' is not one day"),
        ("reports", {**REPORT, "entered_on": "yesterday"}, "entered_on 'yesterday'"),
        ("reports", {**REPORT, "entered_on": "2020-05-03"}, "is before date 2020-05-04"),
        ("reports", {**REPORT, "kind": "failed", "last_known_working": "2020-06"}, "before last"),
        ("reports", {**REPORT, "because": "planned"}, "because is for recapped reports only"),
        ("reports", {**REPORT, "found_dead": "yes"}, "found_dead is for failed reports only"),
        ("reports", {**REPORT, "cause": "other"}, "cause is for a failure or its repair"),
        ("units", {**UNIT, "manufactured": "2010", "enrolled_on": "2009"}, "before manufactured"),
        ("models", {"model": "M", "first_made": "2010", "last_made": "2009"}, "before first_made"),
        ("models", {"model": "M;N"}, "model 'M;N' holds ;"),
        ("batches", {"batch": "C1:B7"}, "holds ; or :"),
        ("sources", {"source": "S", "collecting_since": "2015", "data_cutoff": "2014"},
         "data_cutoff 2014 is before collecting_since 2015"),
        ("positions", {**PLACE, "capacitance": "-5uF"}, "capacitance -5uF is below zero"),
        ("positions", {**PLACE, "capacitance": "nan"}, "capacitance nan is no number"),
        ("positions", {**PLACE, "capacitance": "470F"}, "is above 10 F"),
        ("positions", {**PLACE, "capacitance": "1e9 uF"}, "is above 10 F"),
        ("positions", {**PLACE, "capacitance": "0 uF"}, "is zero"),
        ("positions", {**PLACE, "voltage": "0"}, "voltage is 0 V"),
        ("positions", {**PLACE, "voltage": "100001"}, "is above 100,000 V"),
        ("positions", {**PLACE, "diameter_mm": "0"}, "diameter_mm is 0 mm"),
        ("offers", {"part": "P", "length_mm": "0"}, "length_mm is 0 mm"),
        ("offers", {"part": "P", "price_from_quantity": "0"}, "price_from_quantity is 0"),
        ("offers", {"part": "P", "lead_days": "1001"}, "is above 1,000"),
        ("offers", {"part": "P", "date_code": "04<2"}, "holds '<', which no can carries"),
        ("stock", {"part": "P", "quantity": "1", "date_code": "€12"}, "which no can carries"),
        ("batches", {"batch": "B", "voltage": "0"}, "voltage is 0 V"),
        ("prices", {"model": "M", "item": "used", "price": "1", "parts_age_years": "61"},
         "is more than 60"),
        ("shop", {"bench_hours_per_month": "745"}, "more than the 744 hours of a month"),
    ],
)  # fmt: skip
def test_rows_impossible_by_themselves(cleaned, kind, row, words):
    assert words in refused_one(cleaned(kind, row))


@pytest.mark.parametrize(
    ("kind", "row"),
    [
        ("reports", {**REPORT, "kind": "failed", "last_known_working": "2020"}),
        ("reports", {**REPORT, "kind": "repaired", "cause": "capacitor"}),
        ("reports", {**REPORT, "found_dead": "no"}),
        ("reports", {**REPORT, "date": "2026-11-25", "entered_on": "2026-11-25"}),
        ("units", {**UNIT, "manufactured": "2010~", "enrolled_on": "2009"}),
        ("units", {**UNIT, "manufactured": "../2003", "enrolled_on": "2001"}),
        *(
            ("positions", {**PLACE, "capacitance": text, "clearance_mm": "0"})
            for text in ("1 mF", "4u7", "10 F", "0.47µF", "22 MFD", "10000000", "as printed")
        ),
        ("offers", {"part": "P", "date_code": "H0412-3 (M)", "lead_days": "1000"}),
        ("shop", {"bench_hours_per_month": "744"}),
    ],
)
def test_rows_that_may_be_true_are_kept(cleaned, kind, row):
    kept_one(cleaned(kind, row))


def test_default_source_of_the_import(cleaned):
    meta = Meta(source="Evening one")
    kept = cleaned("units", UNIT, {**UNIT, "source": "Other"}, meta=meta).kept
    assert kept["source"].to_list() == ["Evening one", "Other"]


def test_seasons_by_the_hemisphere_of_the_source(cleaned, raw):
    sources = raw("sources", {"source": "South one", "hemisphere": " South "})
    halves = hemispheres_of([sources], meta=Meta(source="South two", hemisphere="south"))
    assert halves == {"South one": "South", "South two": "south"}
    rows = [{**REPORT, "date": "2001-22", "source": s} for s in ("South one", "North", "South two")]
    kept = cleaned("reports", *rows, REPORT, hemispheres=halves).kept
    assert kept["date_earliest"].to_list() == [
        date(2001, 12, 1), date(2001, 6, 1), date(2001, 12, 1), date(2020, 5, 4),
    ]  # fmt: skip


@given(st.lists(st.tuples(*[st.text(max_size=8)] * 4), max_size=6))
def test_rows_in_are_rows_kept_and_rows_refused(rows):
    frame = pl.DataFrame(
        rows, schema=dict.fromkeys(["unit", "date", "kind", "cause"], pl.String), orient="row"
    ).with_columns(pl.int_range(2, pl.len() + 2, dtype=pl.Int64).alias("line"))
    result = clean(RawTable(kind="reports", file="f", frame=frame), today=TODAY)
    lines = [*result.kept["line"], *result.rejected["line"]]
    assert sorted(lines) == frame["line"].to_list()
    assert result.rejected["reason"].null_count() == 0
