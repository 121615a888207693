"""Several at once, and one that is killed half way."""

import os
import signal
import threading

import pytest

from fleet import store
from fleet.frames import REJECTED, empty_frame

WRITER = """
import sys
from datetime import date
from pathlib import Path
import polars as pl
from fleet import store
from fleet.frames import REJECTED, clean_schema, empty_frame

path, name, many = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
schema = clean_schema("units")
print("ready", flush=True)
sys.stdin.readline()
for n in range(many):
    row = {"record": f"{name}-{n}", "content": f"{name} {n}", "unit": name, "model": "BM-2"}
    frame = pl.DataFrame([{c: row.get(c) for c in schema}], schema=schema)
    shared = {"record": f"both-{n}", "content": f"both {n}", "unit": "both", "model": "BM-2"}
    frame = frame.vstack(pl.DataFrame([{c: shared.get(c) for c in schema}], schema=schema))
    done = store.append(
        path, {"units": frame}, empty_frame(REJECTED), what=name, today=date(2026, 11, 25), by=name
    )
    print(done.import_id, flush=True)
"""


def test_four_processes_write_at_once_and_nothing_is_lost(path, start_python):
    """Each also brings rows that the others bring: those are stored once."""
    many = 6
    writers = [start_python(WRITER, path, f"w{n}", many) for n in range(4)]
    for writer in writers:
        assert writer.stdout.readline() == "ready\n"
    for writer in writers:
        writer.stdin.write("go\n")
        writer.stdin.flush()
    told = []
    for writer in writers:
        out, err = writer.communicate(timeout=120)
        assert writer.returncode == 0, err
        told += out.split()
    assert len(told) == 4 * many
    assert len(set(told)) == 4 * many
    records = store.known(path, ["units"])["units"]["record"]
    assert records.is_unique().all()
    expected = {f"w{w}-{n}" for w in range(4) for n in range(many)}
    expected |= {f"both-{n}" for n in range(many)}
    assert set(records) == expected
    imports = store.imports(path)
    assert sorted(imports["import_id"]) == [f"i-{n:04}" for n in range(1, 4 * many + 1)]
    assert imports["already_known"].sum() == 3 * many


def test_threads_of_one_program_read_and_write(path, rows, today):
    faults = []

    def work(name):
        try:
            for n in range(4):
                frame = rows("units", {"record": f"{name}-{n}", "unit": name})
                store.append(
                    path, {"units": frame}, empty_frame(REJECTED), what="x", today=today, by=None
                )
                assert store.known(path, ["units"])["units"].height > n
        except Exception as fault:
            faults.append(fault)

    threads = [threading.Thread(target=work, args=(name,)) for name in "abc"]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert faults == []
    assert store.known(path, ["units"])["units"].height == 12
    assert store.imports(path)["import_id"].is_unique().all()


@pytest.mark.skipif(os.name != "posix", reason="kills a process with a signal")
@pytest.mark.parametrize("moment", ["insert_rejects", "insert_import", "after"])
def test_killed_in_the_middle_of_a_write(path, put_units, current, start_python, moment):
    """What was confirmed is there, what was not leaves no trace."""
    put_units({"record": "a"})
    script = """
import os, signal, sys
from datetime import date
from importlib import import_module
from pathlib import Path
import polars as pl
from fleet import store
from fleet.frames import REJECTED, clean_schema, empty_frame

path, moment = Path(sys.argv[1]), sys.argv[2]
module = import_module("fleet.store.append")
real = module.run

def run(con, name, /, **values):
    if name == moment:
        os.kill(os.getpid(), signal.SIGKILL)
    real(con, name, **values)

module.run = run
n = 200_000
schema = clean_schema("units")
frame = pl.DataFrame({"n": range(n)}).select(pl.format("u-{}", "n").alias("record"))
frame = frame.with_columns(content="record", unit="record", model=pl.lit("BM-2"))
nulls = {c: pl.lit(None, t) for c, t in schema.items() if c not in frame.columns}
frame = frame.with_columns(**nulls).select(schema.names())
done = store.append(
    path, {"units": frame}, empty_frame(REJECTED), what="x", today=date(2026, 11, 25), by=None
)
print(done.import_id, flush=True)
os.kill(os.getpid(), signal.SIGKILL)
"""
    killed = start_python(script, path, moment)
    out, err = killed.communicate(timeout=120)
    assert killed.returncode == -signal.SIGKILL, err
    confirmed = out.split() == ["i-0002"]
    assert confirmed == (moment == "after")
    assert store.known(path, ["units"])["units"].height == (200_001 if confirmed else 1)
    assert store.imports(path).height == (2 if confirmed else 1)
    done = put_units({"record": "b"})
    assert done.import_id == ("i-0003" if confirmed else "i-0002")
    assert {"a", "b"} <= set(current())
    assert [p.name for p in path.parent.iterdir()] == [path.name]
    assert store.stamp(path)


def test_importing_the_store_loads_no_engine(start_python):
    script = "import sys, fleet.store; print('duckdb' in sys.modules, 'pyarrow' in sys.modules)"
    out, err = start_python(script).communicate(timeout=60)
    assert (out, err) == ("False False\n", "")
