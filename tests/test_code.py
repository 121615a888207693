"""The code's own rules: style, types, layers, file length."""

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
COMMANDS = {
    "ruff check": ["ruff", "check", "."],
    "ruff format": ["ruff", "format", "--check", "."],
    "mypy": ["mypy"],
    "import rule": ["lint-imports"],
}


@pytest.mark.parametrize("name", COMMANDS)
def test_check_passes(name):
    tool, *rest = COMMANDS[name]
    beside = Path(sys.executable).parent / tool
    program = str(beside) if beside.exists() else shutil.which(tool)
    assert program, f"{tool} is not installed; install the extra 'test'"
    done = subprocess.run([program, *rest], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_file_holds_two_ideas():
    # 300 lines is where a module has usually grown a second idea.
    sources = [*ROOT.glob("fleet/**/*.py"), *ROOT.glob("dashboards/**/*.py")]
    assert sources
    long = {str(p.relative_to(ROOT)): len(p.read_text().splitlines()) for p in sources}
    assert {name: lines for name, lines in long.items() if lines > 300} == {}


def test_year_length_is_known_in_one_place():
    users = [p for p in ROOT.glob("fleet/**/*.py") if "365.25" in p.read_text()]
    assert [p.name for p in users] == ["ages.py"]


def test_importing_the_package_loads_nothing_heavy():
    heavy = ["polars", "duckdb", "scipy", "lifelines", "altair", "streamlit", "typer"]
    code = f"import sys, fleet; print([m for m in {heavy!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_top_level_holds_only_what_was_agreed():
    agreed = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "fleet",
        "dashboards",
        "tests",
        "demo_data",
    }
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split("\n")
    if not any(listed):
        pytest.skip("this copy is no git checkout, so what belongs to it is not known")
    tops = {name.split("/")[0] for name in listed if name}
    assert {top for top in tops if not top.startswith(".")} <= agreed


def test_every_tag_in_the_code_is_a_heading_of_the_methods():
    text = (ROOT / "fleet" / "METHODS.md").read_text()
    headings = set(re.findall(r"^#+ ([a-z-]+)$", text, flags=re.MULTILINE))
    named = re.compile(r"METHODS: ([a-z-]+(?:, [a-z-]+)*)")
    tags = {
        tag
        for path in ROOT.glob("fleet/**/*.py")
        for group in named.findall(path.read_text())
        for tag in group.split(", ")
    }
    assert tags
    assert tags <= headings


def test_pages_ask_the_chain_and_no_layer_below_it():
    below = re.compile(r"(?:from|import) fleet\.(records|store|lives|fits|decisions|capacitors)\b")
    pages = list(ROOT.glob("dashboards/**/*.py"))
    assert pages
    assert {
        str(p): below.findall(p.read_text()) for p in pages if below.search(p.read_text())
    } == {}
