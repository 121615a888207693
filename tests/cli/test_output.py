"""JSON, CSV and screen of one frame; readers that go away; terminals that know only ASCII."""

import json
import subprocess
import sys
from datetime import date

import polars as pl
import pytest

from fleet.cli.options import Form
from fleet.cli.output import print_table

FRAME = pl.DataFrame(
    {
        "model": ["A", None],
        "age": [1 / 3, float("nan")],
        "high": [float("inf"), 1e-12],
        "on": [date(2026, 5, 1), None],
        "reports": [["r-1", "r-2"], []],
        "ok": [True, None],
        "text": ['a "quoted"\nline, with comma \u2028', "ä"],
    }
)


def printed(capsys, frame=FRAME, **kwargs):
    form = Form(json=kwargs.pop("json", False), csv=kwargs.pop("csv", False))
    print_table(frame, form, **kwargs)
    return capsys.readouterr()


def test_json_is_unrounded_with_null_for_unknown(capsys):
    rows = json.loads(printed(capsys, json=True).out)
    assert rows[0] == {
        "model": "A",
        "age": 1 / 3,
        "high": None,
        "on": "2026-05-01",
        "reports": ["r-1", "r-2"],
        "ok": True,
        "text": 'a "quoted"\nline, with comma \u2028',
    }
    assert rows[1]["age"] is None
    assert rows[1]["high"] == 1e-12


def test_json_group_is_an_object_of_column_to_value(capsys):
    frame = pl.DataFrame({"model": ["A", "B"], "set_no": [1, 2], "x": [0.5, 1.0]})
    rows = json.loads(printed(capsys, frame, json=True, by=["model", "set_no"]).out)
    assert rows[0] == {"group": {"model": "A", "set_no": "1"}, "x": 0.5}


def test_json_group_of_all_is_empty(capsys):
    frame = pl.DataFrame({"x": [0.5, 1.0], "note": ["a\n{b", "\n{"]})
    rows = json.loads(printed(capsys, frame, json=True, by=[]).out)
    assert rows == [
        {"group": {}, "x": 0.5, "note": "a\n{b"},
        {"group": {}, "x": 1.0, "note": "\n{"},
    ]


@pytest.mark.parametrize("by", [None, [], ["model"]])
def test_json_of_nothing_is_an_empty_list(capsys, by):
    assert json.loads(printed(capsys, FRAME.clear(), json=True, by=by).out) == []


def test_csv_has_the_same_columns_and_reads_back(capsys):
    out = printed(capsys, csv=True).out
    back = pl.read_csv(out.encode(), infer_schema=False)
    assert back.columns == FRAME.columns
    assert back["reports"].to_list() == ["r-1;r-2", None]
    assert back["high"].to_list() == [None, "1e-12"]
    assert back["text"][0] == FRAME["text"][0]


def test_csv_of_nothing_is_its_header(capsys):
    assert printed(capsys, FRAME.clear(), csv=True).out == ",".join(FRAME.columns) + "\n"


def test_json_in_several_pieces_is_one_list(capsys, monkeypatch):
    monkeypatch.setattr("fleet.cli.output._ROWS_AT_ONCE", 3)
    frame = pl.DataFrame({"n": range(10)})
    assert [row["n"] for row in json.loads(printed(capsys, frame, json=True).out)] == [*range(10)]


def test_screen_says_when_there_is_nothing(capsys):
    said = printed(capsys, FRAME.clear(), empty="No unit yet.")
    assert (said.out, said.err) == ("", "No unit yet.\n")


MANY = (
    "import polars as pl\n"
    "from fleet.cli.options import Form\n"
    "from fleet.cli.output import print_table\n"
    "import typer\n"
    "def run(form: str) -> None:\n"
    "    print_table(pl.DataFrame({'n': range(400_000)}),"
    " Form(json=form == 'json', csv=form == 'csv'))\n"
    "typer.run(run)\n"
)


@pytest.mark.parametrize("form", ["json", "csv", "screen"])
@pytest.mark.skipif(sys.platform == "win32", reason="pipes end differently there")
def test_reader_that_goes_away_ends_it_quietly(form):
    writer = subprocess.Popen(
        [sys.executable, "-c", MANY, form], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    with writer.stdout, writer.stderr:
        assert writer.stdout.readline()
        writer.stdout.close()
        assert writer.wait() == 0
        assert writer.stderr.read() == b""


@pytest.mark.parametrize(("form", "expected"), [("json", "ä".encode()), ("screen", b"?")])
def test_ascii_terminal_gets_a_question_mark_and_json_stays_utf8(form, expected):
    code = (
        "import polars as pl\n"
        "from fleet.cli.options import Form\n"
        "from fleet.cli.output import print_table\n"
        f"print_table(pl.DataFrame({{'t': ['\\u00e4']}}), Form(json={form == 'json'}))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        check=True,
        env={"PYTHONIOENCODING": "ascii", "PATH": "", "PYTHONPATH": ":".join(sys.path)},
    )
    assert expected in done.stdout
