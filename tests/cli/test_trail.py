"""Who did what: each by its command, with the hour; of one machine, one person, since a day."""

from datetime import UTC, datetime


def test_everything_that_was_done_stands_in_it(club, store, tmp_path):
    before = datetime.now(UTC).replace(tzinfo=None, microsecond=0)
    made = club("log", "working", "TL-015", "--on", "2024-07-01", "--by", "ann", "--json").rows()
    club("amend", made[0]["record"], "--set", "notes=hums", "--by", "Bo")
    club("add", "price", "BM-2", "--item", "used", "--price", "60", "--currency", "EUR")
    club("add", "shop", "--labour-rate", "20", "--by", "cy")
    club("undo", "i-0005", "--by", "dee")
    club("export", tmp_path / "out", "--by", "ann")
    club("backup", tmp_path / "kept.duckdb", "--by", "ann")
    rows = club("trail", "--json").rows()
    told = [(r["by"], r["did"], r["kind"], r["unit"], r["records"], r["through"]) for r in rows]
    assert told[:7] == [
        ("ann", "backed up to kept.duckdb", None, None, 0, "fleet backup"),
        ("ann", "exported to out", None, None, 0, "fleet export"),
        ("dee", "took back import i-0005", "shop", None, 1, "fleet undo"),
        ("cy", "added", "shop", None, 1, "fleet add shop"),
        (None, "added", "prices", None, 1, "fleet add price"),
        ("Bo", "corrected", "reports", "TL-015", 1, "fleet amend"),
        ("ann", "reported working", "reports", "TL-015", 1, "fleet log"),
    ]
    assert {r["did"] for r in rows[7:]} == {"brought in club0"}
    assert all(datetime.fromisoformat(r["moment"]) >= before for r in rows[:7])
    assert rows[6]["record"] == made[0]["record"]


def test_of_one_machine_one_person_since_a_day(club):
    club("log", "working", "TL-015", "TL-016", "--on", "2024-07-01", "--by", "ann")
    club("log", "working", "TL-017", "--on", "2024-07-01", "--by", "Bo")
    rows = club("trail", "--unit", "015", "--json").rows()
    assert next((r["did"], r["kind"], r["records"]) for r in rows) == (
        "reported working",
        "reports",
        1,
    )
    assert {r["unit"] for r in rows} == {"TL-015"}
    (one,) = club("trail", "--by", "bo", "--json").rows()
    assert one["unit"] == "TL-017"
    (both,) = club("trail", "--by", "ann", "--json").rows()
    assert (both["unit"], both["records"]) == (None, 2)
    assert club("trail", "--since", "9999-01-01", "--json").rows() == []


def test_a_machine_nobody_knows_is_said(club):
    done = club("trail", "--unit", "nobody")
    assert done.code == 1
    assert done.err


def test_a_restored_store_tells_where_it_comes_from(club, tmp_path):
    club("backup", tmp_path / "kept.duckdb")
    club("restore", tmp_path / "kept.duckdb", "--store", tmp_path / "new.duckdb", "--by", "ann")
    first = club("trail", "--store", tmp_path / "new.duckdb", "--json").rows()[0]
    assert (first["by"], first["did"]) == ("ann", "restored from kept.duckdb")
