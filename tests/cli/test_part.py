"""fleet part check."""

import csv
import io

import pytest

POSITIONS = """model,position,capacitance,tolerance,voltage,temperature,diameter_mm,length_mm,\
lead_form,lead_spacing_mm,clearance_mm,ground_referenced,technology,role,headroom_mm,grounded_end
BM-2,C7,470uF,20%,16,105,10,16,radial,5,1,yes,aluminium,relay driver,30,negative
BM-2,C8,1000uF,20%,40,105,14,35,axial,45,,no,aluminium,pump driver,30,
BM-2,C9,22uF,20%,,105,5,11,radial,2,1,yes,aluminium,,30,negative
"""
OFFERS = """part,capacitance,tolerance,voltage,temperature,diameter_mm,length_mm,lead_form,\
lead_spacing_mm,technology,supplier,price,currency
KR-470,470uF,20%,25,105,10,16,radial,5,aluminium,Parts post,0.40,EUR
KR-1000,1000uF,20%,35,105,14,35,axial,,aluminium,Parts post,1.40,EUR
KR-1000B,1000uF,20%,50,105,14,35,axial,,aluminium,Parts post,1.60,EUR
"""


@pytest.fixture
def shop(club, tmp_path):
    """The club's store with three places and three parts."""
    for kind, text in (("positions", POSITIONS), ("offers", OFFERS)):
        file = tmp_path / f"{kind}.csv"
        file.write_text(text)
        assert club("import", file, "--strict").code == 0
    return club


def verdicts(rows):
    return {(row["position"], row["part"]): row["verdict"] for row in rows}


def test_all_offers_against_one_place(shop):
    rows = shop("part", "check", "--model", "BM-2", "--position", "C7", "--json").rows()
    assert verdicts(rows) == {
        ("C7", "KR-470"): "fits",
        ("C7", "KR-1000"): "does_not_fit",
        ("C7", "KR-1000B"): "does_not_fit",
    }
    assert set(rows[0]) == {"part", "model", "position", "verdict", "measure_first", "reasons"}
    assert set(rows[0]["reasons"][0]) == {"point", "verdict", "sentence", "source"}


def test_35_volts_for_40_and_an_uncommon_body_to_be_measured(shop):
    # Common practice, no source.
    ran = shop("part", "check", "--model", "BM-2", "--position", "C8", "--json")
    rows = {row["part"]: row for row in ran.rows()}
    assert rows["KR-1000"]["verdict"] == "does_not_fit"
    assert rows["KR-1000B"]["verdict"] == "fits_with_care"
    assert rows["KR-1000B"]["measure_first"] == ["clearance"]


def test_one_pair_on_the_screen_is_every_reason_with_its_source(shop):
    ran = shop("part", "check", "KR-470", "--model", "BM-2", "--position", "C7")
    assert ran.code == 0
    assert "rated for 25 V, above the original's 16 V" in ran.out
    assert "common practice, no source" in ran.out
    assert "unplug it" in ran.err


def test_the_screen_leaves_out_what_does_not_fit_and_says_so(shop):
    ran = shop("part", "check", "--model", "BM-2")
    assert "KR-470" in ran.out
    assert "6 more pairs do not fit" in ran.err
    assert "BM-2 C9: measure before ordering: voltage" in ran.err


def test_a_part_that_does_not_fit_is_no_error(shop):
    ran = shop("part", "check", "KR-1000", "--model", "BM-2", "--position", "C8")
    assert ran.code == 0
    assert "below the original's 40 V; look for 50 V or more" in ran.out


def test_a_part_typed_by_its_facts(shop):
    facts = "470uF 20% 16V 105C 10x16 radial pitch5 aluminium"
    ask = ("part", "check", "--facts", facts, "--model", "BM-2", "--position", "C7", "--json")
    rows = shop(*ask).rows()
    assert [(row["part"], row["verdict"]) for row in rows] == [("typed facts", "fits")]


def test_csv_has_the_reasons_as_text(shop):
    ran = shop("part", "check", "KR-470", "--model", "BM-2", "--position", "C7", "--csv")
    (row,) = csv.DictReader(io.StringIO(ran.out))
    assert row["verdict"] == "fits"
    assert row["reasons"].startswith("voltage: rated for 25 V")


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--model", "BM-2", "--position", "C9"), "BM-2 C9 has no voltage on record"),
        (("--model", "BM-2", "--position", "C77"), "there is no position C77 on BM-2"),
        (("--model", "BM-9"), "no place is recorded for the model BM-9"),
        (("KR-9",), "there is no part KR-9"),
        (("--facts", "470 16V"), "'470' has no unit"),
        (("--facts", "470uF 0V"), "the voltage is 0"),
    ],
)
def test_what_cannot_be_judged_is_one_sentence(shop, words, sentence):
    ran = shop("part", "check", *words)
    assert ran.code == 1
    assert ran.out == ""
    assert ran.err.count("Error:") == 1
    assert sentence in ran.err


def test_a_store_without_parts_has_no_pair(club):
    ran = club("part", "check")
    assert ran.code == 0
    assert "No pair to judge." in ran.err
