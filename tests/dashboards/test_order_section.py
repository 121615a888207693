"""The order at the foot of the page of plan and order, drawn for a plan of the test's own."""

import re
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

_PAGES = Path(__file__).resolve().parents[2] / "dashboards"
_PAGE = """
import sys
from datetime import date
from types import SimpleNamespace

import polars as pl
import streamlit as st

sys.path.insert(0, st.session_state["pages"])

import order_section
import shared

from fleet.frames import JOBS

place = shared.open_page("Plan and order", "What to do when.")
rows = [
    {
        **dict.fromkeys(JOBS.names()),
        "unit": unit,
        "model": model,
        "on": date.fromisoformat(on),
        "action": "recap_now",
    }
    for unit, model, on in st.session_state["planned"]
]
order_section.draw(place, SimpleNamespace(jobs=pl.DataFrame(rows, schema=JOBS)))
"""


@pytest.fixture
def section(demo_store):
    """A function that draws the section for jobs (unit, model, day)."""

    def drawn(*planned, **address):
        page = AppTest.from_string(_PAGE, default_timeout=120)
        page.session_state["pages"] = str(_PAGES)
        page.session_state["planned"] = planned
        for name, value in address.items():
            page.query_params[name] = value
        return page.run()

    return drawn


def _said(page):
    kinds = ("markdown", "caption", "info", "warning", "error")
    return " ".join(element.value for kind in kinds for element in getattr(page, kind))


JOB = ("S-045", "DQ31", "2026-07-13")


def test_what_to_buy_measure_and_download(section):
    page = section(JOB, ("U-033", "BZ62", "2026-08-03"))
    assert not page.exception
    assert not page.error
    said = _said(page)
    assert "For 2 machines with a job" in said
    assert "DQ31 C11 (diameter, length)" in said
    tables = [frame.value for frame in page.dataframe]
    buy = next(t for t in tables if "Supplier" in t.columns)
    assert buy["Together"].sum() == pytest.approx((buy["Pieces"] * buy["Each"]).sum())
    # a phone shows the first three: what it is, how many, from whom
    assert buy.columns[:3].tolist() == ["Part", "Pieces", "Supplier"]
    assert all(re.search(r" (\d+uF|\d+u\d) [\d.]+ V$", part) for part in buy["Part"])
    measure = next(t for t in tables if "Part in mind" in t.columns)
    assert "C11" in measure["Position"].tolist()
    labels = [button.label for button in page.get("download_button")]
    assert labels[:2] == ["Download the order (XLSX)", "Download the order (CSV)"]
    assert len(labels) - 2 == 2 * (len(tables) - 1)  # both files of every other table
    assert not re.search(r"\b(inf|nan|None)\b", said, re.I)


def test_choices_are_in_the_address_and_count(section):
    few = section(JOB)
    many = section(JOB, duds="30.0", enough="99.0")
    assert not many.exception

    def pieces(page):
        return next(f.value for f in page.dataframe if "Supplier" in f.value.columns)[
            "Pieces"
        ].sum()

    assert pieces(many) > pieces(few)


def test_no_jobs_are_said_and_nothing_is_drawn(section):
    page = section()
    assert not page.exception
    assert "there is nothing to order" in _said(page)
    assert not page.dataframe


def test_no_option_of_the_command_is_named_on_the_page(section):
    for page in (section(JOB, ("S-082", "WQ18", "2026-11-02")), section()):
        folded = " ".join(m.value for fold in page.expander for m in fold.markdown)
        assert not re.search(r"--\w", _said(page) + folded)
