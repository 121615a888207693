"""fleet sheet, and the way back through the line it prints."""

import re
import shlex
from html import unescape

import pytest

CUT = "2024-06-30"


@pytest.fixture
def bench(club, tmp_path, monkeypatch):
    """The club with two positions and a step, in a folder of its own."""
    monkeypatch.chdir(tmp_path)
    facts = ("--capacitance", "470uF", "--voltage", "25", "--temperature", "105")
    for position in ("C3", "C12"):
        done = club("add", "position", position, "--model", "BM-2", *facts,
                    "--ground-referenced", "yes", "--entered-on", "2020-01-01")  # fmt: skip
        assert done.code == 0, done.err
    done = club("add", "step", "BM-2", "--moment", "opening", "--text", "mark both white plugs",
                "--entered-on", "2020-01-01")  # fmt: skip
    assert done.code == 0, done.err
    return club


def test_a_sheet_is_written_and_its_path_printed(bench, tmp_path):
    done = bench("sheet", "TL-015", "--as-of", CUT)
    assert done.code == 0, done.err
    assert done.out == "sheet-TL-015.html\n"
    assert "unplug it, wait, measure" in done.err
    assert "Open it in a browser and print it; bring the result back" in done.err
    html = (tmp_path / "sheet-TL-015.html").read_text(encoding="utf-8")
    assert "mark both white plugs" in html
    assert "Invented data" not in html


def test_a_sheet_is_not_written_over(bench, tmp_path):
    path = tmp_path / "sheet-TL-015.html"
    path.write_text("mine")
    done = bench("sheet", "TL-015", "--as-of", CUT)
    assert done.code == 1
    assert "is there already" in done.err
    assert path.read_text() == "mine"
    assert bench("sheet", "TL-015", "--as-of", CUT, "--force").code == 0
    assert "Bench sheet" in path.read_text(encoding="utf-8")


def test_a_model_and_a_name_of_ones_own(bench, tmp_path):
    done = bench("sheet", "--model", "BM-2", "--out", tmp_path / "any.html", "--as-of", CUT)
    assert done.code == 0, done.err
    assert "For any unit of the model" in (tmp_path / "any.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("words", [(), ("TL-015", "--model", "BM-2")])
def test_one_unit_or_one_model(bench, words):
    done = bench("sheet", *words)
    assert done.code == 2
    assert "name a unit" in done.err


def test_several_machines_have_a_file_each(bench, tmp_path):
    (tmp_path / "bench").mkdir()
    done = bench("sheet", "TL-015", "TL-016", "TL-015", "--out", tmp_path / "bench", "--as-of", CUT)
    assert done.code == 0, done.err
    names = ["sheet-TL-015.html", "sheet-TL-016.html"]
    assert done.out.splitlines() == [str(tmp_path / "bench" / name) for name in names]
    for name in names:
        unit = name.removeprefix("sheet-").removesuffix(".html")
        assert f"<h1>Bench sheet: {unit}</h1>" in (tmp_path / "bench" / name).read_text("utf-8")


def test_a_folder_is_made_where_there_is_none(bench, tmp_path):
    done = bench("sheet", "TL-015", "TL-016", "--out", "new", "--as-of", CUT)
    assert done.code == 0, done.err
    names = ["sheet-TL-015.html", "sheet-TL-016.html"]
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == names


def test_several_machines_are_all_or_nothing(bench, tmp_path):
    (tmp_path / "one.html").write_text("mine")
    before = sorted(tmp_path.iterdir())
    no_folder = bench("sheet", "TL-015", "TL-016", "--out", "one.html")
    assert no_folder.code == 2
    assert "is a file" in no_folder.err
    assert bench("sheet", "TL-015", "TL-999").code == 1
    assert bench("sheet", "TL-015", "TL-999", "--out", "new").code == 1
    assert sorted(tmp_path.iterdir()) == before


def test_names_nobody_knows_leave_nothing_behind(bench, tmp_path):
    before = sorted(tmp_path.iterdir())
    unit, model = bench("sheet", "TL-15"), bench("sheet", "--model", "BM2x")
    assert (unit.code, model.code) == (1, 1)
    assert "no unit is called TL-15; did you mean TL-015" in unit.err
    assert "no model is called BM2x" in model.err
    assert sorted(tmp_path.iterdir()) == before


def _typed(html, name):
    return unescape(re.search(rf'<p class="type" id="{name}">(.*?)</p>', html, re.DOTALL)[1])


def test_the_lines_at_the_end_bring_the_results_back(bench, tmp_path):
    bench("sheet", "TL-015", "--as-of", CUT)
    html = (tmp_path / "sheet-TL-015.html").read_text(encoding="utf-8")
    words = shlex.split(_typed(html, "command"))
    assert words[:4] == ["fleet", "log", "recapped", "TL-015"]
    filled = {"--on": "2024-07-02", "--because": "planned", "--cured": "yes", "--positions": "all",
              "--batch": "LX-9803", "--by": "Odile"}  # fmt: skip
    for option, value in filled.items():
        place = words.index(option) + 1
        assert words[place] == "____"
        words[place] = value
    line = _typed(html, "lines").splitlines()[0]
    assert line == "C3 before ____/____V ____ohm ____uF after ____/____V ____ohm ____uF"
    (tmp_path / "readings.txt").write_text("C3 before after 12.1/0V 0.05ohm")
    done = bench(*words[1:])
    assert done.code == 0, done.err
    rows = bench("sheet", "TL-015", "--force")
    assert rows.code == 0, rows.err
    again = (tmp_path / "sheet-TL-015.html").read_text(encoding="utf-8")
    assert "capacitors replaced" in again
    cells = re.sub(r' data-of="[^"]*"', "", again)  # names of columns, for narrow screens
    assert "<td>12.1</td><td>0</td><td>0.05</td>" in cells
    assert "LX-9803, fitted 2024-07-02" in again
