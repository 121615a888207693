"""fleet order."""

import csv
import io

import polars as pl
import pytest

CUT = "2024-06-30"
KEYS = {
    *("model", "position", "part", "quantity", "spares", "needed", "from_stock", "to_buy"),
    *("supplier", "unit_price", "cost", "currency", "verdict", "measure_first", "advice"),
}
FACTS = (
    "capacitance,tolerance,voltage,temperature,diameter_mm,length_mm,lead_form,lead_spacing_mm,"
    "clearance_mm,ground_referenced,technology,ripple_ma,esr_ohm,rated_hours"
)
BODY = "10,20,radial,5,2,yes,aluminium,1000,0.06,5000"
POSITIONS = f"""model,position,{FACTS},headroom_mm
BM-2,C1,1000uF,20%,25,105,{BODY},40
BM-2,C2,100uF,20%,,105,{BODY},40
"""
OFFERS = f"""part,{FACTS},supplier,price,currency,price_from_quantity,shipping,date_code,lead_days
BIG,1000uF,20%,25,105,{BODY},Northern parts,1.00,EUR,1,4.00,2401,5
"""


@pytest.fixture
def shop(club, tmp_path):
    """The club with positions of one of its models, and a part to buy."""
    for kind, text in (("positions", POSITIONS), ("offers", OFFERS)):
        (tmp_path / f"{kind}.csv").write_text(text)
        done = club("import", tmp_path / f"{kind}.csv", "--strict")
        assert done.code == 0, done.err
    return club


def _ordered(shop, *more):
    return shop("order", "--as-of", CUT, "--units", "TL-015,TL-016", "--no-surprises", *more)


def test_keys_and_numbers(shop):
    rows = _ordered(shop, "--json").rows()
    assert all(set(row) == KEYS for row in rows)
    by = {row["position"]: row for row in rows}
    assert by["C1"]["part"] == "BIG"
    assert (by["C1"]["needed"], by["C1"]["spares"], by["C1"]["to_buy"]) == (2, 1, 3)
    assert by["C1"]["cost"] == 3.0
    assert by["C1"]["currency"] == "EUR"
    assert by["C2"]["measure_first"] == ["voltage"]
    assert by["C2"]["to_buy"] == 0


def test_words_go_to_stderr_and_numbers_to_stdout(shop):
    done = _ordered(shop)
    assert done.code == 0
    assert "7.00 EUR" in done.err
    assert "Measure before ordering" in done.err
    assert "unplug" in done.err
    assert "BIG" in done.out
    assert "nan" not in (done.out + done.err).lower()


def test_csv_has_the_keys(shop):
    rows = list(csv.DictReader(io.StringIO(_ordered(shop, "--csv").out)))
    assert set(rows[0]) == KEYS


def test_a_higher_service_level_and_more_duds_ask_for_more_spares(shop):
    def spares(*more):
        return sum(row["spares"] for row in _ordered(shop, "--json", *more).rows())

    usual = spares()
    assert spares("--dud", "0.3") > usual
    assert spares("--dud", "0.1", "--service-level", "0.9999") > usual
    assert spares("--dud", "0", "--slip", "0", "--least-spares", "0") == 0


def test_the_order_as_a_workbook_and_as_csv(shop, tmp_path):
    out = tmp_path / "order.xlsx"
    done = _ordered(shop, "--out", out)
    assert done.code == 0, done.err
    assert pl.read_excel(out, sheet_name="order")["Part"].to_list() == ["BIG", "Shipping"]
    again = _ordered(shop, "--out", out)
    assert again.code == 1
    assert "--force" in again.err
    assert _ordered(shop, "--out", out, "--force").code == 0
    text = tmp_path / "order.csv"
    assert _ordered(shop, "--out", text).code == 0
    first = text.read_text(encoding="utf-8-sig").splitlines()[0]
    assert first.startswith("Part,Description,Quantity,")


def test_a_file_of_another_kind_is_refused_before_any_work(shop, tmp_path):
    done = _ordered(shop, "--out", tmp_path / "order.pdf")
    assert done.code == 1
    assert ".xlsx" in done.err
    assert not (tmp_path / "order.pdf").exists()


def test_no_price_is_one_sentence_and_no_file(shop, tmp_path):
    no_price = OFFERS.replace(",1.00,EUR,", ",,,").replace("BIG", "LONE")
    (tmp_path / "offers.csv").write_text(no_price.replace("1000uF", "100uF"))
    (tmp_path / "positions.csv").write_text(
        POSITIONS.replace("BM-2,C1", "DH-5,C1").replace("1000uF", "100uF").splitlines()[0]
        + f"\nDH-5,C1,100uF,20%,25,105,{BODY},40\n"
    )
    for kind in ("offers", "positions"):
        assert shop("import", tmp_path / f"{kind}.csv", "--strict").code == 0
    out = tmp_path / "order.csv"
    done = shop("order", "--as-of", CUT, "--units", "TL-021", "--no-surprises", "--out", out)
    assert done.code == 1
    assert "LONE" in done.err
    assert not out.exists()


def test_a_machine_unheard_of(shop):
    done = shop("order", "--as-of", CUT, "--units", "ZZ-1")
    assert done.code == 1
    assert "no machine ZZ-1" in done.err


@pytest.mark.parametrize(
    "more", [("--service-level", "1.5"), ("--dud", "-1"), ("--until", "soon"), ("--months", "0")]
)
def test_wrong_usage(shop, more):
    assert shop("order", "--as-of", CUT, *more).code == 2


def test_a_window_asked_for_twice(shop):
    done = shop("order", "--as-of", CUT, "--until", "2024-09-30", "--months", "2")
    assert done.code == 1
    assert "twice" in done.err


def test_a_window_of_the_plan(shop):
    """Machines of both models are due; the positions of one of them nobody described."""
    plan = shop("plan", "--as-of", CUT, "--json").rows()
    rows = shop("order", "--as-of", CUT, "--until", "2024-09-30", "--json").rows()
    planned = [job["model"] for job in plan if job["on"] <= "2024-09-30"]
    needed = {(row["model"], row["position"]): row["needed"] for row in rows}
    assert planned
    assert {model for model, _ in needed} == set(planned)
    assert all(count == planned.count(model) for (model, _), count in needed.items())
