"""Words on stderr."""

import threading

from fleet.cli import words
from fleet.cli.words import busy, counted, say, say_all


def test_results_stay_off_stderr_and_words_off_stdout(capsys):
    say("hello")
    assert capsys.readouterr() == ("", "hello\n")


def test_every_sentence_ends(capsys):
    say_all(["it holds only failures", "Is it so?"])
    assert capsys.readouterr().err == "it holds only failures.\nIs it so?\n"


def test_progress_is_said_when_it_takes_longer(monkeypatch):
    lines, said = [], threading.Event()
    monkeypatch.setattr(words, "PATIENCE_SECONDS", 0.0)
    monkeypatch.setattr(words, "say", lambda text: (lines.append(text), said.set()))
    with busy("Counting") as next_step:
        assert said.wait(timeout=60)
        next_step("Adding")
    assert lines == ["Counting ...", "Adding ..."]


def test_progress_is_not_said_when_it_is_quick(capsys):
    with busy("Counting") as next_step:
        next_step("Adding")
    assert capsys.readouterr() == ("", "")


def test_counted():
    assert counted(1, "report") == "1 report"
    assert counted(2000, "report") == "2,000 reports"
    assert counted(3, "batch", "batches") == "3 batches"
