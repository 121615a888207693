"""fleet dashboard: this machine only, on a port that is free."""

import socket
import sys
from pathlib import Path

from fleet.cli import server
from fleet.cli.server import free_port, server_command


def test_serves_this_machine_only():
    words = server_command(Path("app.py"), port=8600, browser=False)
    assert words[:4] == [sys.executable, "-m", "streamlit", "run"]
    told = dict(zip(words[5::2], words[6::2], strict=True))
    assert told == {
        "--server.address": "127.0.0.1",
        "--server.port": "8600",
        "--server.headless": "true",
        "--browser.serverAddress": "127.0.0.1",
        "--browser.gatherUsageStats": "false",
    }


def test_taken_port_gives_the_next_free_one():
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert free_port(port) > port


def test_store_is_handed_over(club, store, monkeypatch):
    seen = {}

    class Done:
        returncode = 0

    def run(words, *, env, cwd, check):
        seen.update(words=words, store=env["FLEET_STORE"], cwd=cwd)
        return Done

    monkeypatch.setattr(server.subprocess, "run", run)
    done = club("dashboard", "--no-browser")
    assert done.code == 0, done.err
    assert seen["store"] == str(store.resolve())
    assert Path(seen["words"][4]).is_file()
    assert "http://127.0.0.1:" in done.err


def test_missing_store_is_1_before_anything_starts(fleet, monkeypatch):
    monkeypatch.setattr(server.subprocess, "run", lambda *_, **__: 1 / 0)
    done = fleet("dashboard")
    assert done.code == 1
    assert "report it" not in done.err
