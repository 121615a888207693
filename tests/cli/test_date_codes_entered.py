"""Date codes that cannot be: refused by hand, kept and told of when imported."""

import pytest


@pytest.mark.parametrize("thing", ["batch LX-1", "offer KR-470", "stock KR-470 --quantity 5"])
def test_a_code_that_cannot_be_is_refused_and_nothing_is_kept(club, thing):
    done = club("add", *thing.split(), "--date-code", "9861")
    assert done.code == 1
    assert "date code 9861 cannot be a date: 61 is no week" in done.err
    assert club("add", *thing.split(), "--date-code", "9851").code == 0


def test_a_lot_code_of_another_form_is_kept(club):
    assert club("add", "batch", "LX-1", "--date-code", "L7734-B").code == 0


def test_a_correction_is_looked_at_too(club):
    record = club("add", "batch", "LX-1", "--date-code", "9851", "--json").rows()[0]["record"]
    done = club("amend", record, "--set", "date_code=9861")
    assert (done.code, "61 is no week" in done.err) == (1, True)


def test_an_import_keeps_it_and_check_tells(club, tmp_path):
    (tmp_path / "batches.csv").write_text("batch,date_code\nLX-1,9861\nLX-2,L7734-B\nLX-3,G3\n")
    assert club("import", tmp_path / "batches.csv", "--strict").code == 0
    rows = [r for r in club("check", "--json").rows() if "date codes" in r["finding"]]
    assert [(row["subject"], row["count"]) for row in rows] == [("LX-1, LX-3", 2)]
    assert "61 is no week" in rows[0]["finding"]
