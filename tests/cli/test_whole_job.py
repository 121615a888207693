"""From a due date to a machine that works: the whole job on the demo, command by command."""

import re
import shutil
from datetime import date

import pytest
from typer.testing import CliRunner

from fleet.cli.app import app
from fleet.flow.demo import build_demo

pytestmark = pytest.mark.slow

# What is logged in the test is entered on this day, so it is asked after on the same.
TODAY = date.today().isoformat()  # noqa: DTZ011 - as the command line reads the clock


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    store = tmp_path_factory.mktemp("whole") / "demo.duckdb"
    build_demo(store)
    return store


@pytest.fixture
def run(demo, tmp_path):
    """Run a command on a copy of the demo of one's own; its rows or its words."""
    import json

    store = tmp_path / "demo.duckdb"
    shutil.copy(demo, store)

    def ran(*args, rows=True):
        words = [*(str(arg) for arg in args), *(["--json"] if rows else [])]
        done = CliRunner().invoke(app, words, env={"FLEET_STORE": str(store)}, prog_name="fleet")
        assert done.exit_code == 0, done.stderr
        return json.loads(done.stdout) if rows else done.stdout

    return ran


def _of(rows, **wanted):
    (row,) = [r for r in rows if all(r[name] == value for name, value in wanted.items())]
    return row


def test_from_due_to_done(run, tmp_path):
    due = run("due", "--as-of", TODAY)
    jobs = run("plan", "--as-of", TODAY)
    job = jobs[0]
    unit, model = job["unit"], job["model"]
    was = _of(due, unit=unit)
    assert was["action"] in ("recap_now", "recap_when_due")
    assert job["on"] >= TODAY
    assert {"unit", "on", "cost"} <= set(job)

    bought = run("order", "--units", unit, "--as-of", TODAY)
    places = {row["position"]: row for row in bought if row["model"] == model}
    ordered = [row for row in places.values() if row["quantity"]]
    assert ordered
    assert all(row["part"] and row["spares"] >= 1 for row in ordered if row["to_buy"])

    sheet = tmp_path / "sheet.html"
    run("sheet", unit, "--as-of", TODAY, "--out", sheet, rows=False)
    page = sheet.read_text(encoding="utf-8")
    assert page.index("Cautions first") < page.index(min(places))
    assert all(position in page for position in places)
    assert f"fleet log recapped {unit}" in re.sub(r"\s+", " ", page)

    evidence = run("suspects", "--as-of", TODAY)
    success = _of(run("outcomes", "--as-of", TODAY), model=model)
    first, second = sorted(places)[:2]
    run(
        *("log", "recapped", unit, "--on", "today", "--because", "planned", "--cured", "yes"),
        *("--positions", "all"),
        *("--reading", f"{first} before 9.9ohm after 0.05ohm", "--reading", f"{second} after 1ohm"),
    )

    now = _of(run("due", "--as-of", TODAY), unit=unit)
    assert now["age"] < 0.01 < was["age"]
    assert now["action"] != "recap_now"
    assert now["p_fail"] < was["p_fail"]
    after = _of(run("outcomes", "--as-of", TODAY), model=model)
    assert after["jobs"] == success["jobs"] + 1
    assert after["success"] > success["success"]
    batch = {"level": "batch", "name": was["batch"], "model": model, "parts": "original"}
    assert _of(run("suspects", "--as-of", TODAY), **batch)["effect"] != pytest.approx(
        _of(evidence, **batch)["effect"], rel=1e-6
    )
    assert unit not in {row["unit"] for row in run("plan", "--as-of", TODAY)}
    chosen = run("choose", unit, "--as-of", TODAY)
    assert len(chosen) > 3
