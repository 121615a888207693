import re

import duckdb
import polars as pl
import pytest

from fleet import store
from fleet.errors import StoreProblem
from fleet.frames import KINDS, clean_schema
from fleet.store import schema
from fleet.store.engine import connect
from fleet.store.session import bring_up_to_date
from fleet.store.statements import FOLDER, fetch

TYPES = {
    "VARCHAR": pl.String(),
    "BIGINT": pl.Int64(),
    "DOUBLE": pl.Float64(),
    "BOOLEAN": pl.Boolean(),
    "DATE": pl.Date(),
}


@pytest.mark.parametrize("kind", KINDS)
def test_each_table_has_the_columns_of_its_contract(path, kind):
    con = connect(path, read_only=True)
    found = fetch(
        con,
        "SELECT column_name, data_type FROM duckdb_columns() WHERE table_name = $t "
        "ORDER BY column_index",
        {"t": kind},
    )
    con.close()
    columns = {name: TYPES[type_] for name, type_ in found.rows()}
    assert columns == {**clean_schema(kind), "import_id": pl.String()}


def test_the_list_of_all_records_and_the_counts_cover_every_kind(path, rows, put):
    given = {
        "withdraws": "u-1",
        "kind": "units",
        "quantity": 1,
    }
    for kind in KINDS:
        own = {k: v for k, v in given.items() if k in clean_schema(kind)}
        frame = rows(kind, {"record": f"{kind}-1", **own})
        if kind == "withdrawn":
            put(units=rows("units", {"record": "u-1", "unit": "TL-1"}))
        assert put(**{kind: frame}).counts["rows_kept"].to_list() == [1], kind
    con = connect(path, read_only=True)
    keys = fetch(con, "SELECT DISTINCT kind FROM record_keys")["kind"]
    con.close()
    assert set(keys) == set(KINDS)
    counted = (FOLDER / "count_tables.sql").read_text()
    assert set(KINDS) <= set(re.findall(r"FROM (\w+)", counted))


def test_every_sql_file_is_used():
    source = "\n".join(p.read_text() for p in FOLDER.parent.glob("*.py"))
    unused = [
        p.stem
        for p in FOLDER.glob("*.sql")
        if not re.match(r"\d{3}_", p.stem) and f'"{p.stem}"' not in source
    ]
    assert unused == []


def _set_step(path, step):
    with duckdb.connect(str(path)) as con:
        con.execute("UPDATE schema_steps SET step = $step", {"step": step})


def test_a_newer_store_is_refused_and_left_as_it_is(path, put, rows):
    _set_step(path, 9)
    before = path.read_bytes()
    sentence = r"is a store of format 9 and this program knows up to 4; update the program"
    with pytest.raises(StoreProblem, match=sentence):
        store.known(path, ["units"])
    with pytest.raises(StoreProblem, match=sentence):
        put(units=rows("units", {"unit": "TL-1"}))
    assert path.read_bytes() == before
    assert [p.name for p in path.parent.iterdir()] == [path.name]


def test_a_newer_store_with_an_unfinished_log_is_left_as_it_is(path, put, rows, start_python):
    script = """
import duckdb, os, signal, sys
con = duckdb.connect(sys.argv[1])
con.execute("UPDATE schema_steps SET step = 9")
os.kill(os.getpid(), signal.SIGKILL)
"""
    start_python(script, path).communicate(timeout=60)
    log = path.with_name(f"{path.name}.wal")
    before = path.read_bytes(), log.read_bytes()
    with pytest.raises(StoreProblem, match="store of format 9"):
        put(units=rows("units", {"unit": "TL-1"}))
    assert (path.read_bytes(), log.read_bytes()) == before


def test_an_older_store_is_copied_and_brought_up_to_date(path, put_units, current, monkeypatch):
    put_units({"record": "u-1"})
    steps = schema.steps()
    extra = path.parent / "005_more.sql"
    extra.write_text("CREATE TABLE more (a INTEGER); INSERT INTO more VALUES (7);")
    monkeypatch.setattr(schema, "steps", lambda: {**steps, 5: extra})
    assert current() == ["u-1"]  # reading brings it up to date as well
    kept = path.with_name("club.format-4.duckdb")
    con = connect(path, read_only=True)
    assert fetch(con, "SELECT a FROM more").rows() == [(7,)]
    assert fetch(con, "SELECT * FROM schema_steps ORDER BY step").rows() == [
        (1, "001_tables"),
        (2, "002_deciding_and_doing"),
        (3, "003_ends_and_currents"),
        (4, "004_several_people"),
        (5, "005_more"),
    ]
    con.close()
    assert bring_up_to_date(path) is None
    monkeypatch.setattr(schema, "steps", lambda: steps)
    assert store.known(kept, ["units"])["units"]["record"].to_list() == ["u-1"]


def test_a_step_that_fails_leaves_the_store_as_it_was(path, put_units, monkeypatch):
    put_units({"record": "u-1"})
    steps = schema.steps()
    extra = path.parent / "005_bad.sql"
    extra.write_text("CREATE TABLE more (a INTEGER); INSERT INTO nowhere VALUES (7);")
    before = path.read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(schema, "steps", lambda: {**steps, 5: extra})
        with pytest.raises(duckdb.CatalogException):
            bring_up_to_date(path)
    assert path.read_bytes() == before
    assert store.known(path, ["units"])["units"].height == 1


def test_a_store_of_the_first_format_takes_the_new_columns_and_kinds(tmp_path, rows, monkeypatch):
    old = tmp_path / "old.duckdb"
    steps = schema.steps()
    with monkeypatch.context() as patch:
        patch.setattr(schema, "steps", lambda: {1: steps[1]})
        store.create(old)
    with duckdb.connect(str(old)) as con:
        con.execute(
            "INSERT INTO offers (record, content, part, price, import_id) "
            "VALUES ('o-1', 'c', 'P-1', 2.5, 'i')"
        )
    offers = store.known(old, ["offers"])["offers"]
    assert offers.select("part", "price", "lead_days", "date_code").rows() == [
        ("P-1", 2.5, None, None)
    ]
    assert store.known(old, ["prices", "steps"])["steps"].is_empty()
