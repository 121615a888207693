"""Repair data in the Open Repair Data Standard v0.3 (openrepair.org, published 7 December 2021)."""

from datetime import date
from pathlib import Path

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.records import is_open_repair, read_open_repair, resolve_names
from fleet.records.open_repair_codes import BARRIERS, CATEGORIES, STATUSES
from fleet.records.open_repair_notes import heaping

TODAY = date(2026, 11, 25)
REAL = Path(__file__).parents[3] / "shared" / "real" / "open_repair_extract.csv"
HEAD = [
    "id", "data_provider", "country", "partner_product_category", "product_category",
    "product_category_id", "brand", "year_of_manufacture", "product_age", "repair_status",
    "repair_barrier_if_end_of_life", "group_identifier", "event_date", "problem",
]  # fmt: skip
ROW = {
    "id": "a_1",
    "data_provider": "Invented Evenings",
    "country": "FRA",
    "partner_product_category": "Kitchen",
    "product_category": "Coffee maker",
    "product_category_id": "36",
    "repair_status": "Repairable",
    "event_date": "2019-06-15",
}


@pytest.fixture
def read(tmp_path):
    def make(*rows, header=HEAD):
        path = tmp_path / "repairs.csv"
        frame = pl.DataFrame(
            [{name: row.get(name) for name in header} for row in rows],
            schema=dict.fromkeys(header, pl.String),
        )
        frame.write_csv(path)
        return read_open_repair(path, today=TODAY)

    return make


def test_codes_of_the_standard():
    # The standard's code lists: 40 categories whose id is their place, four statuses, six barriers.
    assert len(CATEGORIES) == len(set(CATEGORIES)) == 40
    assert (CATEGORIES[0], CATEGORIES[7], CATEGORIES[35], CATEGORIES[39]) == (
        "Aircon/dehumidifier", "Flat screen", "Coffee maker", "Iron",
    )  # fmt: skip
    assert set(STATUSES) == {"Fixed", "Repairable", "End of life", "Unknown"}
    assert len(set(BARRIERS.values())) == 6


def test_known_by_its_header(tmp_path):
    path = tmp_path / "x.csv"
    path.write_text(",".join(HEAD) + "\n")
    assert is_open_repair(path)
    path.write_text("unit,model,notes\n")
    assert not is_open_repair(path)
    path.write_bytes(b"\0\1")
    assert not is_open_repair(path)
    assert not is_open_repair(tmp_path)
    assert not is_open_repair(tmp_path / "absent.csv")


def test_one_row_is_one_unit_and_one_failure(read):
    result = read({**ROW, "year_of_manufacture": "2009", "product_age": "10", "brand": "Invented",
                   "problem": "dead, elko bulging"})  # fmt: skip
    unit = result.tables["units"].row(0, named=True)
    assert {k: unit[k] for k in ("unit", "source", "model", "manufactured", "enrolled_on",
                                 "enrolled_because", "line")} == {
        "unit": "a_1", "source": "Invented Evenings", "model": "Coffee maker",
        "manufactured": "2009", "enrolled_on": "2019-06-15", "enrolled_because": "failed",
        "line": 2,
    }  # fmt: skip
    assert unit["notes"] == (
        "brand: Invented; category as entered: Kitchen; country: FRA; age as entered: 10"
    )
    report = result.tables["reports"].row(0, named=True)
    assert {k: report[k] for k in ("unit", "date", "kind", "cause", "found_dead", "symptom")} == {
        "unit": "a_1", "date": "2019-06-15", "kind": "failed", "cause": "capacitor",
        "found_dead": True, "symptom": "dead, elko bulging",
    }  # fmt: skip
    assert report["notes"] == "repair status: Repairable"
    assert report["last_known_working"] is None
    assert result.tables["models"].select("model", "kind").rows() == [("Coffee maker",) * 2]
    assert result.tables["sources"].select("source", "data_cutoff", "keeps_roll_call").rows() == [
        ("Invented Evenings", "2019-06-15", False)
    ]
    assert resolve_names(result.tables, known={}).rejected.height == 0


@pytest.mark.parametrize(
    ("status", "kinds"),
    [
        ("Fixed", ["failed", "repaired"]),
        ("End of life", ["failed", "retired"]),
        ("Repairable", ["failed"]),
        ("Unknown", ["failed"]),
    ],
)
def test_statuses(read, status, kinds):
    reports = read({**ROW, "repair_status": status}).tables["reports"]
    assert reports["kind"].to_list() == kinds
    assert set(reports["date"]) == {"2019-06-15"}


@pytest.mark.parametrize("barrier", ["Item too worn out", "Product too worn out", "Too worn out",
                                     "No way to open the product"])  # fmt: skip
def test_spellings_of_barriers(read, barrier):
    result = read({**ROW, "repair_status": "End of life", "repair_barrier_if_end_of_life": barrier})
    assert result.rejected.height == 0
    assert result.tables["reports"]["notes"][0] == f"repair status: End of life; barrier: {barrier}"


@pytest.mark.parametrize(
    ("problem", "cause"),
    [
        ("Capacitors dead", "capacitor"),
        ("le condensateur gonflé", "capacitor"),
        ("Kondensatoren defekt", "capacitor"),
        ("condensatore rotto", "capacitor"),
        ("condensador", "capacitor"),
        ("defecte condensator", "capacitor"),
        ("ELKO", "capacitor"),
        ("condensation inside", "unknown"),
        ("the elkon board", "unknown"),
        ("does not start", "unknown"),
        (None, "unknown"),
    ],
)
def test_cause_is_a_capacitor_only_where_the_text_says_so(read, problem, cause):
    assert read({**ROW, "problem": problem}).tables["reports"]["cause"][0] == cause


@pytest.mark.parametrize(
    ("year", "age", "manufactured"),
    [
        ("2009", None, "2009"),
        ("2009", "3", "2009"),
        (None, "10", "2009~"),
        (None, "10.5", "2008~"),  # 10.5 years before 15 June 2019 is December 2008
        ("1015", "10", "2009~"),
        ("2020", None, None),  # after the event
        ("1899", None, None),
        ("????", None, None),
        (None, "-1", None),
        (None, "150", None),
        (None, "1e9", None),
        (None, "old", None),
        (None, None, None),
    ],
)
def test_manufacture_by_plausible_year_else_by_age_else_blank(read, year, age, manufactured):
    result = read({**ROW, "year_of_manufacture": year, "product_age": age})
    assert result.rejected.height == 0
    assert result.tables["units"]["manufactured"][0] == manufactured


def test_absurd_values_are_kept_in_the_notes_and_counted(read):
    result = read(
        {**ROW, "year_of_manufacture": "1015"},
        {**ROW, "id": "a_2", "product_age": "old"},
        {**ROW, "id": "a_3"},
    )
    notes = result.tables["units"]["notes"]
    assert "year of manufacture as entered: 1015" in notes[0]
    assert "age as entered: old" in notes[1]
    said = " | ".join(result.notes)
    assert "1 years of manufacture are none, before 1900 or after the event (such as 1015)" in said
    assert "1 ages are no numbers" in said
    assert "3 rows tell neither a year of manufacture nor an age" in said


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"id": None}, "id is blank"),
        ({"event_date": None}, "event_date is blank"),
        ({"event_date": "15/06/2019"}, "is not a day"),
        ({"event_date": "2019-06"}, "is not a day"),
        ({"event_date": "2027-06-15"}, "is in the future"),
        ({"repair_status": "Mended"}, "is not one of Fixed, Repairable"),
        ({"repair_barrier_if_end_of_life": "Lazy"}, "is not a barrier of the standard"),
        ({"product_category": "Robot"}, "is not a category of the standard"),
        ({"product_category_id": "41"}, "is not 1 to 40"),
        ({"country": "France"}, "is not a country code"),
        ({"data_provider": " "}, "data_provider is blank"),
        ({"product_category": None, "partner_product_category": None}, "category is blank"),
        ({"problem": "x" * 20_001}, "symptom has 20001 characters"),
        ({"id": "x" * 201}, "unit has 201 characters"),
    ],
)
def test_rows_refused_with_line_and_reason(read, change, words):
    result = read({**ROW, **change}, {**ROW, "id": "a_2"})
    assert result.rows == 2
    assert result.rejected.select("file", "line").rows() == [("repairs.csv", 2)]
    assert words in result.rejected["reason"][0]
    assert result.tables["units"]["unit"].to_list() == ["a_2"]
    assert result.tables["reports"]["unit"].to_list() == ["a_2"]


def test_category_of_the_partner_where_the_standard_one_is_blank(read):
    result = read({**ROW, "product_category": None, "product_category_id": None})
    assert result.tables["units"]["model"].to_list() == ["Kitchen"]


def test_an_id_twice_is_refused_unless_the_same_again(read):
    other = {**ROW, "problem": "other"}
    result = read(ROW, other, ROW, other)
    assert result.rejected["line"].to_list() == [3, 5]
    assert "another row has the id a_1" in result.rejected["reason"][0]
    assert result.tables["units"]["line"].to_list() == [2, 4]
    assert result.rows == result.tables["units"].height + result.rejected.height


def test_record_date_is_the_day_of_entry(read):
    result = read({**ROW, "record_date": "2019-07-01"}, header=[*HEAD, "record_date"])
    assert result.tables["units"]["entered_on"].to_list() == [date(2019, 7, 1)]
    assert result.tables["reports"]["reconstructed"].to_list() == [False]


def test_missing_columns(tmp_path):
    path = tmp_path / "x.csv"
    path.write_text("id,country\n1,FRA\n")
    with pytest.raises(BadInput, match="data_provider, repair_status, event_date is missing"):
        read_open_repair(path, today=TODAY)


def test_heaping_counts_whole_ages_of_five_and_more():
    assert heaping(pl.Series([1.0, 5.0, 6.0, 10.0, 10.5, None])) == (3, 2)


@pytest.mark.shared
@pytest.mark.skipif(not REAL.is_file(), reason="the real extract is not beside the checkout")
def test_the_real_extract_goes_through_whole_and_says_what_it_is():
    result = read_open_repair(REAL, today=TODAY)
    raw = pl.read_csv(REAL, infer_schema=False)
    assert result.rows == raw.height == 6654
    assert result.rejected.height == 0
    assert result.tables["units"].height == 6654
    fixed, ended = (
        (raw["repair_status"] == "Fixed").sum(),
        (raw["repair_status"] == "End of life").sum(),
    )
    kinds = dict(result.tables["reports"]["kind"].value_counts().iter_rows())
    assert kinds == {"failed": 6654, "repaired": fixed, "retired": ended}
    said = " ".join(result.notes)
    assert "only things that failed and none that still works" in said
    assert "no life distribution can be read off it" in said
    # Its README: three in five whole ages of 5 or more are multiples of 5.
    assert "(59%) are multiples of 5" in said or "(60%) are multiples of 5" in said
