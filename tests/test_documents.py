"""What the documents name is there: files, functions, tags, pages and pictures."""

import ast
import re
import subprocess
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# What the README names in code is mostly whoever uses it: its links and pages are looked at below.
DOCUMENTS = ("DEVELOPERS.md", "fleet/METHODS.md", "demo_data/README.md")
_ENDINGS = "py|sql|css|html|toml|csv|json|md|svg|png"
_FILE = re.compile(rf"[\w./-]*\w\.(?:{_ENDINGS})|\.?\w[\w./-]*/")
_DOTTED = re.compile(r"_?[a-z]\w*(?:\.\w+)+")


@cache
def ours():
    """Every file of the project, from its top folder."""
    done = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    if not done.stdout:
        pytest.skip("this copy is no git checkout, so what belongs to it is not known")
    return [f"/{name}" for name in done.stdout.splitlines()]


def code(text):
    """What stands in backticks or in a block of code."""
    blocks = re.findall(r"^```\w*\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    rest = re.sub(r"^```.*?^```", "", text, flags=re.MULTILINE | re.DOTALL)
    return [*blocks, *re.findall(r"`([^`]+)`", rest)]


def files_named(text):
    """Words of the code that look like a file or a folder of ours."""
    words = {word.strip("'\",();:") for part in code(text) for word in part.split()}
    return {word for word in words if _FILE.fullmatch(word)}


def is_there(name):
    """Whether a file's path ends with this name, or a folder's does."""
    if name.endswith("/"):
        return any(f"/{name}" in path for path in ours())
    return any(path.endswith(f"/{name}") for path in ours())


@pytest.mark.parametrize("document", DOCUMENTS)
def test_files_named_are_there(document):
    text = (ROOT / document).read_text(encoding="utf-8")
    assert {name for name in files_named(text) if not is_there(name)} == set()


def test_a_file_that_is_gone_is_found_out():
    named = files_named("see `fleet/nowhere.py` and `sql/`, run `pytest tests/store`, `a/b`")
    assert named == {"fleet/nowhere.py", "sql/"}
    assert not is_there("fleet/nowhere.py")
    assert not is_there("due_nowhere/")
    assert is_there("flow/due.py")


@cache
def modules():
    """Our modules and packages by the last part of their name: the files each is made of."""
    found = {}
    for path in (Path(name[1:]) for name in ours()):
        if path.suffix == ".py" and path.parts[0] in ("fleet", "dashboards", "tests"):
            found.setdefault(path.stem, []).append(path)
            found.setdefault(path.parent.name, []).append(path)
    return found


@cache
def said_in(path):
    """Every name that a file defines, takes in or gives out."""
    names = set()
    for node in ast.walk(ast.parse((ROOT / path).read_text(encoding="utf-8"))):
        if isinstance(node, (ast.FunctionDef, ast.ClassDef, ast.alias)):
            names.add(node.name)
        elif isinstance(node, (ast.Name, ast.Attribute)):
            names.add(node.id if isinstance(node, ast.Name) else node.attr)
    return names


def missing(dotted):
    """Whether `module.name` names something of ours that is not there; others' names never."""
    module, *names = dotted.removeprefix("fleet.").split(".")
    if module not in modules():
        return False
    known = {name for path in modules()[module] for name in (*said_in(path), path.stem)}
    known |= {path.parent.name for path in modules()[module]}
    return any(name not in known for name in names)


@pytest.mark.parametrize("document", DOCUMENTS)
def test_functions_named_are_there(document):
    text = (ROOT / document).read_text(encoding="utf-8")
    dotted = {
        word
        for part in code(text)
        for word in re.split(r"[\s(),=:;]+", part)
        if _DOTTED.fullmatch(word) and not _FILE.fullmatch(word)
    }
    assert {name for name in dotted if missing(name)} == set()


def test_a_function_that_is_gone_is_found_out():
    assert missing("flow.no_such_name")
    assert missing("take_away.no_such_name")
    assert not missing("flow.due.due")
    assert not missing("fits.weibull_posterior")
    assert not missing("pl.concat_str")


def test_every_tag_named_is_a_heading_of_the_methods():
    text = (ROOT / "fleet/METHODS.md").read_text(encoding="utf-8")
    tags = set(re.findall(r"^#+ ([a-z-]+)$", text, flags=re.MULTILINE))
    tags |= set(re.findall(r"\(tag `([a-z-]+)`\)", text))
    named = {
        tag
        for path in (*ROOT.glob("fleet/**/*.py"), *ROOT.glob("dashboards/**/*.py"))
        for tag in re.findall(r"METHODS:? ([a-z]+(?:-[a-z]+)*)", path.read_text(encoding="utf-8"))
    }
    assert named
    assert named <= tags


def test_links_and_pictures_of_the_readme_are_there():
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    linked = re.findall(r"\]\(([^)#:]+)\)", text)
    assert {name for name in linked if not is_there(name) and not is_there(f"{name}/")} == set()
    pictures = [ROOT / name for name in linked if name.endswith(".png")]
    assert len(pictures) >= 3
    assert {p.name: p.stat().st_size for p in pictures if p.stat().st_size > 250_000} == {}


def test_every_page_is_in_the_readme():
    text = " ".join((ROOT / "README.md").read_text(encoding="utf-8").split())
    router = (ROOT / "dashboards/app.py").read_text(encoding="utf-8")
    groups = re.findall(r'^        "([^"]+)": \[', router, flags=re.MULTILINE)
    titles = re.findall(r'st\.Page\([^)]*title="([^"]+)"', router)
    assert len(titles) > len(groups) > 1
    assert [group for group in groups if f"| {group} |" not in text] == []
    assert [title for title in titles if f"*{title}*" not in text] == []
