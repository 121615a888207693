"""Killed in the middle of saving: what was confirmed is there once, nothing is there in part."""

import io
import os
import random
import re
import signal
import subprocess
import sys
import time

import pytest
import serving
from PIL import Image

from fleet.flow.known import known_records
from fleet.flow.photos import image, photos_of
from fleet.store import stamp

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills a process with a signal")

SAVES = """
import sys
from datetime import date, timedelta
from itertools import count
from pathlib import Path
from fleet.flow.entering import log_reports

store, picture = Path(sys.argv[1]), Path(sys.argv[2]).read_bytes()
for n in count(int(sys.argv[3])):
    done = log_reports(
        store,
        "recapped",
        ["U1"],
        {"date": str(date(2001, 1, 1) + timedelta(days=n)), "positions": "C1;C2"},
        readings=[{"position": "C1", "stage": "before", "esr_ohm": "4"},
                  {"position": "C2", "stage": "after", "esr_ohm": ".2"}],
        photos=[(picture, f"{n}.png")],
        today=date(2020, 1, 1), by="ann", anyway=True,
    )
    print(done.records[0], flush=True)
"""


@pytest.fixture
def club(small_store):
    return small_store([("U1", "M", "working", "2000-06-01"), ("U2", "M", "working", "2019-01-01")])


def whole(store):
    """The reports of U1 with readings and a photo of the same day; fails where one lacks any."""
    records = known_records(store, ("reports", "readings"), as_of=None, unit="U1")
    reports = records["reports"].filter(kind="recapped")
    for date in reports["date"].to_list():
        assert records["readings"].filter(date=date).height == 2, date
    assert records["readings"].height == 2 * reports.height
    return reports


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_a_program_killed_while_it_saves_reports_with_readings_and_photos(club, tmp_path, seed):
    out = io.BytesIO()
    Image.effect_noise((900, 700), 90).save(out, "PNG")
    (tmp_path / "p.png").write_bytes(out.getvalue())
    chance = random.Random(seed)
    confirmed = []
    for turn in range(2):
        process = subprocess.Popen(
            [sys.executable, "-c", SAVES, str(club), str(tmp_path / "p.png"), str(1000 * turn)],
            env={**os.environ, "PYTHONPATH": str(serving.REPOSITORY), "FLEET_WARM": ""},
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        told = [process.stdout.readline().strip() for _ in range(chance.randrange(1, 4))]
        time.sleep(chance.uniform(0.0, 0.3))
        process.kill()
        rest, err = process.communicate(timeout=60)
        assert process.returncode == -signal.SIGKILL, err
        # a line cut short was not confirmed
        confirmed += [*told, *(line for line in rest.splitlines(keepends=True) if "\n" in line)]
    confirmed = [record.strip() for record in confirmed]
    reports = whole(club)
    assert reports["record"].is_unique().all()
    assert set(confirmed) <= set(reports["record"])
    assert reports.height <= len(confirmed) + 2  # one a turn may be saved and not yet confirmed
    photos = photos_of(club, unit="U1")
    assert sorted(photos["report"]) == sorted(reports["record"])
    for sha256 in photos["image"].unique():
        assert image(club, sha256)[:2] == b"\xff\xd8"
    saved_again(club)


def saved_again(store):
    """The store takes the next report without anything being mended first."""
    before = stamp(store)
    words = ["log", "working", "U2", "--on", "2019-12-31", "--store", str(store), "--anyway"]
    done = fleet(*words).communicate(timeout=120)
    assert stamp(store) != before, done


def fleet(*words):
    return subprocess.Popen(
        [sys.executable, "-m", "fleet", *words],
        env={**os.environ, "PYTHONPATH": str(serving.REPOSITORY), "FLEET_WARM": ""},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip


def test_fleet_log_killed_at_random_moments(club):
    chance = random.Random(5)
    began = time.monotonic()
    first = fleet("log", "recapped", "U1", "--on", "2001-01-01", "--positions", "C1;C2",
                  "--reading", "C1,stage=before,esr_ohm=4",
                  "--reading", "C2,stage=after,esr_ohm=0.2", "--store", str(club))  # fmt: skip
    told = first.communicate(timeout=120)
    assert first.returncode == 0, told
    takes = time.monotonic() - began
    confirmed = {"2001-01-01"}
    for n in range(2, 12):
        date = f"2001-02-{n:02}"
        process = fleet(
            "log", "recapped", "U1", "--on", date, "--positions", "C1;C2",
            "--reading", "C1,stage=before,esr_ohm=4", "--reading", "C2,stage=after,esr_ohm=0.2",
            "--store", str(club), "--anyway",
        )  # fmt: skip
        time.sleep(takes * chance.uniform(0.6, 1.1))  # most of it is starting; the end is saving
        process.kill()
        process.communicate(timeout=60)
        if process.returncode == 0:
            confirmed.add(date)
    reports = whole(club)
    assert confirmed <= set(reports["date"])
    assert reports["date"].is_unique().all()
    saved_again(club)


@pytest.mark.browser
def test_the_server_killed_while_a_page_saves(club, browser):
    chance = random.Random(6)
    confirmed = []
    for turn in range(3):
        date = f"2019-0{turn + 2}-01"
        port = serving.free_port()
        command = [sys.executable, "-m", "fleet", "dashboard", "--port", str(port), "--no-browser"]
        process = subprocess.Popen(
            [*command, "--store", str(club)],
            cwd=serving.REPOSITORY,
            env={**os.environ, "PYTHONPATH": str(serving.REPOSITORY), "FLEET_WARM": ""},
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        page = browser.new_page()
        try:
            serving.wait_until_up(f"http://127.0.0.1:{port}", process)
            page.goto(f"http://127.0.0.1:{port}/log?unit=U1&log_kind=working&log_date={date}")
            save = page.get_by_role("button", name="Save the report")
            save.wait_for(timeout=120_000)
            page.wait_for_selector(
                "[data-testid='stApp'][data-test-script-state='notRunning']", timeout=120_000
            )
            field = page.get_by_label("Date", exact=True)
            field.fill(date)
            field.press("Tab")
            page.get_by_text(re.compile(r"that is .*2019")).first.wait_for(timeout=120_000)
            save.click(timeout=60_000)
            if turn == 0:  # killed as soon as it says so
                page.get_by_text("Recorded:").first.wait_for(timeout=120_000)
            else:
                page.wait_for_timeout(chance.uniform(0, 800))
            if page.get_by_text("Recorded:").count():
                confirmed.append(date)
        finally:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait(timeout=20)
            page.close()
    assert confirmed
    reports = known_records(club, ("reports",), as_of=None, unit="U1")["reports"]
    dates = reports["date"].to_list()
    assert set(confirmed) <= set(dates)
    assert len(dates) == len(set(dates))
    saved_again(club)
