"""Start-up, exit codes, and what is said when something goes wrong."""

import os
import subprocess
import sys

import pytest

from fleet import __version__
from fleet.cli import main
from fleet.errors import StoreProblem
from fleet.flow import answers

HEAVY = ["polars", "duckdb", "scipy", "altair", "streamlit", "lifelines", "numpy", "rich.console"]


def _loaded(code):
    """Which heavy modules a fresh Python holds after running `code`."""
    tail = f"\nimport sys; print([m for m in {HEAVY!r} if m in sys.modules], file=sys.stderr)"
    done = subprocess.run(
        [sys.executable, "-c", code + tail], capture_output=True, text=True, check=True
    )
    return done.stderr.strip().splitlines()[-1]


def test_help_loads_nothing_heavy():
    code = (
        "from fleet.cli.app import app\n"
        "try: app(['--help'], prog_name='fleet')\n"
        "except SystemExit: pass"
    )
    assert _loaded(code) == "[]"


def test_log_loads_no_statistics(club, store):
    code = (
        "from fleet.cli.app import app\n"
        f"try: app(['log', 'working', 'TL-020', '--on', '2024-07-01', '--store', {str(store)!r}],"
        " prog_name='fleet')\n"
        "except SystemExit as end: assert not end.code"
    )
    loaded = _loaded(code)
    assert "duckdb" in loaded
    for slow in ("scipy", "altair", "lifelines", "streamlit", "rich"):
        assert slow not in loaded


@pytest.mark.parametrize(("given", "kept"), [(None, "1"), ("3", "3")])
def test_linear_algebra_takes_no_threads_of_its_own(monkeypatch, given, kept):
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", given or "")
    if given is None:
        monkeypatch.delenv("OPENBLAS_NUM_THREADS")
    monkeypatch.setattr("fleet.cli.app.app", lambda prog_name: None)
    main()
    assert os.environ["OPENBLAS_NUM_THREADS"] == kept


def test_help_lists_every_command(fleet):
    done = fleet("-h")
    assert done.code == 0
    assert "lives" in done.out
    assert "Example" not in done.err


def test_version(fleet):
    assert fleet("--version").out.strip() == __version__


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["fitt"], "Did you mean 'fit'"),
        (["lives", "--no-such-option"], "No such option"),
        (["lives", "--as-of", "2024-02-30"], "is not a day"),
        (["lives", "--as-of", "2024"], "is not a day"),
        (["lives", "--json", "--csv"], "not both"),
        (["log", "exploded", "TL-001", "--on", "2024-01-01"], "exploded"),
        (["log", "working", "TL-001"], "--on"),
        (["log", "working", "--on", "2024-01-01"], "at least one unit"),
        (["amend", "r-1", "--set", "date"], "column=value"),
        (["add", "unit", "TL-1"], "--model"),
        (["import"], "Missing argument"),
        (["due", "--horizon-years", "0"], "horizon"),
        (["fit", "--lives", "x.csv", "--ages", "days"], "keeps its own unit"),
    ],
)
def test_wrong_usage_is_2_and_says_what_is_wrong(fleet, words, said):
    done = fleet(*words)
    assert done.code == 2
    assert said in done.err
    assert done.out == ""


def test_fleet_error_is_1_and_one_sentence(fleet, monkeypatch):
    def fail(*_, **__):
        raise StoreProblem("the store is somewhere else; look there")

    monkeypatch.setattr(answers, "lives", fail)
    done = fleet("lives")
    assert done.code == 1
    assert done.err == "Error: the store is somewhere else; look there.\n"
    assert done.out == ""


def test_fault_of_ours_asks_to_be_reported(fleet, monkeypatch):
    def fail(*_, **__):
        raise ZeroDivisionError("division by zero")

    monkeypatch.setattr(answers, "lives", fail)
    monkeypatch.delenv("FLEET_DEBUG", raising=False)
    done = fleet("lives")
    assert done.code == 1
    assert "ZeroDivisionError" in done.err
    assert "report it" in done.err
    assert "Traceback" not in done.err
    monkeypatch.setenv("FLEET_DEBUG", "1")
    assert "Traceback" in fleet("lives").err


def test_system_refusal_names_the_file(fleet, monkeypatch):
    def fail(*_, **__):
        raise PermissionError(13, "Permission denied", "/some/where")

    monkeypatch.setattr(answers, "lives", fail)
    done = fleet("lives")
    assert done.code == 1
    assert "/some/where: Permission denied" in done.err


def test_interrupt_is_one_word_and_130(fleet, monkeypatch):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr(answers, "lives", stop)
    done = fleet("lives")
    assert (done.code, done.err.strip()) == (130, "Stopped.")
