"""The record files keep the contract of the record kinds, and hold what the README promises."""

import json
import re
from datetime import date

import polars as pl
import pytest

from demo_data.make import COLUMNS
from fleet.frames import COMMON, KINDS
from fleet.records.dates import parse_edtf

CUT = date(2026, 6, 30)
FILES = sorted(COLUMNS)


@pytest.mark.parametrize("kind", FILES)
def test_columns_are_those_of_the_kind(kind, tables):
    allowed = [c.name for c in (*KINDS[kind].columns, *COMMON)]
    columns = tables[kind].columns
    assert set(columns) <= set(allowed)
    assert len(columns) == len(set(columns))


@pytest.mark.parametrize("kind", FILES)
def test_required_columns_are_filled(kind, tables):
    for column in KINDS[kind].columns:
        if column.required:
            assert tables[kind][column.name].null_count() == 0, column.name


@pytest.mark.parametrize("kind", FILES)
def test_choices_and_numbers_are_of_the_kind(kind, tables):
    frame = tables[kind]
    for column in KINDS[kind].columns:
        if column.name not in frame.columns:
            continue
        values = frame[column.name].drop_nulls().unique().to_list()
        if column.form == "choice":
            assert set(values) <= set(column.choices), column.name
        elif column.form in ("number", "whole"):
            assert all(float(value) >= 0 for value in values), column.name
        elif column.form == "yes_no":
            assert set(values) <= {"yes", "no", "unknown"}, column.name


@pytest.mark.parametrize("kind", FILES)
def test_no_row_is_there_twice(kind, tables):
    assert tables[kind].is_duplicated().sum() == 0


def test_record_ids_are_unique_and_superseded_ones_exist(tables):
    ids = pl.concat([tables[kind]["record"].drop_nulls() for kind in ("units", "reports")])
    assert ids.is_unique().all()
    for kind in ("units", "reports"):
        superseded = tables[kind]["supersedes"].drop_nulls()
        assert len(superseded) == 1
        assert superseded.is_in(tables[kind]["record"].drop_nulls().implode()).all()


def test_everything_named_exists(current):
    units, models = current["units"], current["models"]
    assert units["unit"].is_unique().all()
    for kind in ("reports", "readings"):
        assert set(current[kind]["unit"]) <= set(units["unit"])
    names = set(models["model"]) | set(models["aliases"].str.split(";").explode())
    assert set(units["model"]) <= names
    assert set(units["model"]) - set(models["model"]) == {"BZ-62", "BZ 62"}
    told = pl.concat([units["batch"], current["reports"]["batch"]]).drop_nulls()
    parts = told.str.split(";").explode().str.replace(r"^C\d+:", "")
    assert set(parts) <= set(current["batches"]["batch"])
    sources = set(current["sources"]["source"])
    assert set(units["source"]) | set(current["reports"]["source"]) == sources
    placed = set(current["positions"].select("model", "position").iter_rows())
    assert {model for model, _ in placed} == set(models["model"])
    canonical = units.with_columns(pl.col("model").str.replace(r"^BZ[- ]", "BZ"))
    read = current["readings"].filter(pl.col("position") != "hours").join(canonical, on="unit")
    assert set(read.select("model", "position").iter_rows()) <= placed


@pytest.mark.parametrize(
    ("kind", "column"),
    [("units", "manufactured"), ("units", "enrolled_on"), ("units", "entered_on"),
     ("reports", "date"), ("reports", "entered_on"), ("reports", "last_known_working"),
     ("readings", "date"), ("batches", "made"), ("models", "first_made")],
)  # fmt: skip
def test_dates_can_be_read_and_lie_within_the_window(kind, column, tables):
    texts = tables[kind][column].drop_nulls()
    days = parse_edtf(texts)
    assert days["reason"].null_count() == len(texts) > 0
    assert (days["earliest"].drop_nulls() <= CUT).all()
    assert (days["earliest"].drop_nulls() >= date(1989, 12, 31)).all()


def test_no_report_was_entered_before_it_happened_nor_after_the_cut(tables):
    told = tables["reports"].drop_nulls("entered_on")
    days = told.select(
        entered=pl.col("entered_on").str.to_date(),
        earliest=parse_edtf(told["date"])["earliest"],
    )
    assert (days["entered"] >= days["earliest"]).all()
    assert (days["entered"] <= CUT).all()


def _promised(folder):
    text = (folder / "README.md").read_text(encoding="utf-8")
    part = text.split("## What is in the records")[1]
    return {name: int(n) for name, n in re.findall(r"^\| (.+?) \| (\d+) \|$", part, re.MULTILINE)}


def test_counts_in_the_readme_are_true(folder, current):
    truth = json.loads((folder / "truth.json").read_text())
    units = current["units"].with_columns(pl.col("model").str.replace(r"^BZ[- ]", "BZ"))
    reports = current["reports"]
    failed = reports.filter(pl.col("kind") == "failed").join(
        units.select("unit", "model"), on="unit"
    )
    cause = pl.col("cause").fill_null("unknown")
    count = {
        "units": units.height,
        "reports, the corrected one counted once": reports.height,
        "failures of other causes": failed.filter(cause == "other").height,
        "failures of unknown cause (unknown, or left blank)": failed.filter(
            cause == "unknown"
        ).height,
        "failures found dead, time unknown": failed.filter(pl.col("found_dead") == "yes").height,
        "working reports": reports.filter(pl.col("kind") == "working").height,
        "recaps, whole or partial": reports.filter(pl.col("kind") == "recapped").height,
        "units enrolled because they failed": units.filter(
            pl.col("enrolled_because") == "failed"
        ).height,
    }
    for model in truth["models"]:
        mine = failed.filter((cause == "capacitor") & (pl.col("model") == model))
        count[f"capacitor failures reported, all sets: {model}"] = mine.height
    promised = _promised(folder)
    bad = promised.pop("failures of factory sets wholly of the bad batch")
    assert promised == count
    assert 10 <= bad <= 20
    for model, about in truth["models"].items():
        if about["wears_out"]:
            assert 25 <= promised[f"capacitor failures reported, all sets: {model}"] <= 60


def test_every_kind_of_thing_that_happens_is_there(current):
    reports = current["reports"]
    assert set(reports["kind"]) == set(KINDS["reports"].column("kind").choices)
    recaps = reports.filter(pl.col("kind") == "recapped")
    assert set(recaps["because"]) == {"planned", "failure", "reading"}
    whole = (pl.col("positions").is_null()) | (pl.col("positions") == "all")
    assert recaps.filter(whole)["batch"].drop_nulls().len() > 20
    assert recaps.filter(~whole).height > 10
    assert {"before", "after", "check"} == set(current["readings"]["stage"])
    assert {"no", "yes", "unknown"} == set(current["positions"]["ground_referenced"])
    for kind in ("units", "reports"):
        assert 0 < current[kind]["entered_on"].null_count() < current[kind].height / 5
    made = current["units"]["manufactured"]
    forms = set(made.fill_null("").str.replace_all(r"\d", "9"))
    assert {"9999", "9999-99", "9999-99-99", "999X", "9999~", "../9999", ""} <= forms
    per_model = current["positions"]["model"].value_counts()["count"]
    assert per_model.min() >= 5
    assert per_model.max() <= 8
