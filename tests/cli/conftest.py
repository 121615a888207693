"""A small club's records, a store made from them, and a way to run a command and read it."""

import json
import shutil
from dataclasses import dataclass

import pytest
from typer.testing import CliRunner

from fleet.cli.app import app

MODELS = """model,kind,aliases,first_made,last_made,planned_cost,failure_cost,currency
BM-2,bread maker,BM2,1998,2012,30,150,EUR
DH-5,dehumidifier,,1998,2010,40,120,EUR
"""
SOURCES = "source,collecting_since,keeps_roll_call\nclub,2010-01-01,yes\n"
BATCHES = "batch,series,made\nLX-9803,LX,1998-03\n"
CUT = "2024-06-30"


def _units() -> str:
    rows = [
        f"TL-{n:03},{'BM-2' if n <= 20 else 'DH-5'},{'LX-9803' if n % 4 == 0 else ''},"
        f"{1999 + n % 10}-05-01,2010-02-01,working,club"
        for n in range(1, 31)
    ]
    head = "unit,model,batch,manufactured,enrolled_on,enrolled_because,source"
    return "\n".join([head, *rows]) + "\n"


def _reports() -> str:
    head = "unit,date,kind,last_known_working,cause,positions,source"
    failed = [
        f"TL-{n:03},{2012 + n % 9}-0{1 + n % 9}-11,failed,,capacitor,C3,club" for n in range(1, 15)
    ]
    working = [f"TL-{n:03},{CUT},working,,,,club" for n in range(15, 31)]
    return "\n".join([head, *failed, *working]) + "\n"


@dataclass(frozen=True)
class Ran:
    """How a command ended and what it printed."""

    code: int
    out: str
    err: str

    def rows(self):
        assert self.code == 0, self.err
        return json.loads(self.out, parse_constant=_no_such_number)


def _no_such_number(name):
    raise AssertionError(f"{name} is no JSON number")


def run_in(store, *args):
    """Run one command with FLEET_STORE set to `store`."""
    result = CliRunner().invoke(
        app, [str(arg) for arg in args], env={"FLEET_STORE": str(store)}, prog_name="fleet"
    )
    return Ran(result.exit_code, result.stdout, result.stderr)


@pytest.fixture(scope="session")
def run_on():
    """Run a command on the store that is named first."""
    return run_in


@pytest.fixture
def store(tmp_path):
    return tmp_path / "fleet.duckdb"


@pytest.fixture
def fleet(store):
    """Run a command on the test's own store, which is not there until something makes it."""
    return lambda *args: run_in(store, *args)


@pytest.fixture(scope="session")
def club_folder(tmp_path_factory):
    """Record files of thirty units: fourteen failed, sixteen seen working at the cut."""
    folder = tmp_path_factory.mktemp("club")
    texts = {
        "sources": SOURCES,
        "models": MODELS,
        "batches": BATCHES,
        "units": _units(),
        "reports": _reports(),
    }
    for name, text in texts.items():
        (folder / f"{name}.csv").write_text(text)
    return folder


@pytest.fixture(scope="session")
def _club_store(club_folder, tmp_path_factory):
    store = tmp_path_factory.mktemp("club_store") / "club.duckdb"
    assert run_in(store, "new").code == 0
    done = run_in(store, "import", club_folder, "--strict")
    assert done.code == 0, done.err
    return store


@pytest.fixture
def club(fleet, store, _club_store):
    """`fleet` on a copy of the club's store."""
    shutil.copy(_club_store, store)
    return fleet


@pytest.fixture(autouse=True)
def _no_progress_on_a_slow_machine(monkeypatch):
    """Progress lines depend on the machine's speed; what is tested here must not."""
    monkeypatch.setattr("fleet.cli.words.PATIENCE_SECONDS", 3600.0)
