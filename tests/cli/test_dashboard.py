"""fleet dashboard: this machine only, on a port that is free."""

import os
import socket
import subprocess
import sys
import time
from pathlib import Path

import pytest

from fleet.cli import server
from fleet.cli.server import free_port, server_command

ROOT = Path(__file__).resolve().parents[2]


def test_serves_this_machine_only():
    words = server_command(Path("app.py"), port=8600)
    assert words[:4] == [sys.executable, "-m", "streamlit", "run"]
    told = dict(zip(words[5::2], words[6::2], strict=True))
    assert told == {
        "--server.address": "127.0.0.1",
        "--server.port": "8600",
        "--server.headless": "true",
        "--server.maxUploadSize": "50",
        "--browser.serverAddress": "127.0.0.1",
        "--browser.gatherUsageStats": "false",
        "--client.showErrorDetails": "full",
    }


def test_a_group_is_served_under_its_own_names():
    words = server_command(
        Path("app.py"),
        port=8600,
        address="192.168.7.20",
        secrets=Path("club.toml"),
        hosts=["192.168.7.20", "club.example.org"],
    )
    allowed = [words[n + 1] for n, word in enumerate(words) if word == "--server.allowedHosts"]
    assert allowed == ["192.168.7.20", "club.example.org"]
    assert words[words.index("--server.address") + 1] == "192.168.7.20"
    assert words[words.index("--secrets.files") + 1] == "club.toml"
    assert words[words.index("--client.showErrorDetails") + 1] == "type"


def test_taken_port_gives_the_next_free_one():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert free_port(port) > port


def test_store_is_handed_over(club, store, monkeypatch):
    seen = {}

    def run(words, *, environment, folder, port):
        seen.update(words=words, store=environment["FLEET_STORE"], port=port)
        return 0

    monkeypatch.setattr(server, "_run", run)
    done = club("dashboard", "--no-browser")
    assert done.code == 0, done.err
    assert seen["store"] == str(store.resolve())
    assert Path(seen["words"][4]).is_file()
    assert seen["port"] is None  # no browser to send there
    assert "http://127.0.0.1:" in done.err


def test_missing_store_is_1_before_anything_starts(fleet, monkeypatch):
    monkeypatch.setattr(server, "_run", lambda *_, **__: 1 / 0)
    done = fleet("dashboard")
    assert done.code == 1
    assert "report it" not in done.err


def test_server_that_fails_is_1(club, monkeypatch):
    monkeypatch.setattr(server, "_run", lambda *_, **__: 3)
    done = club("dashboard", "--no-browser")
    assert done.code == 1
    assert "code 3" in done.err


@pytest.mark.skipif(os.name == "nt", reason="processes are ended differently there")
def test_asked_to_end_it_leaves_nothing_behind(tmp_path):
    # A child that would run for a minute, in place of the server.
    child = f"import os, time; open({str(tmp_path / 'pid')!r}, 'w').write(str(os.getpid())); "
    code = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from fleet.cli.server import _run\n"
        f"words = [sys.executable, '-c', {child + 'time.sleep(60)'!r}]\n"
        f"_run(words, environment=dict(os.environ), folder=Path({str(tmp_path)!r}), port=None)\n"
    )
    parent = subprocess.Popen([sys.executable, "-c", code], cwd=ROOT)
    while not ((tmp_path / "pid").exists() and (tmp_path / "pid").read_text()):
        assert parent.poll() is None
        time.sleep(0.02)
    pid = int((tmp_path / "pid").read_text())
    parent.terminate()
    assert parent.wait(timeout=30) == 0
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)
