"""What is made ready behind the pages, and when."""

from datetime import date, datetime, timedelta

import pytest
import ready
import warming

KEY = ("/stores/club.duckdb", "7-120")
DAY = date(2026, 3, 14)


@pytest.fixture
def wanted(monkeypatch):
    """Names of what was made ready; the clock of the timers stands until `run` is called."""
    names, timers = [], []

    class Timer:
        def __init__(self, seconds, work):
            self.seconds, self.work, self.off = seconds, work, False
            timers.append(self)

        def start(self):
            pass

        def cancel(self):
            self.off = True

    monkeypatch.setenv("FLEET_WARM", "1")
    monkeypatch.setattr(warming.threading, "Timer", Timer)
    monkeypatch.setattr(ready, "make_ready", lambda name, *_: names.append(name))
    monkeypatch.setattr(warming, "_dawns", {})
    ready.forget()
    ready.note_state(KEY)
    yield names, timers
    ready.forget()


def test_what_is_due_comes_first(wanted):
    names, _ = wanted
    warming.warm(KEY, DAY, today=DAY)
    assert names[0] == "due"
    assert {"ask", "outcomes", "suspects"} <= set(names)


def test_nothing_is_made_ready_where_no_server_was_started_for_people(wanted, monkeypatch):
    names, timers = wanted
    monkeypatch.delenv("FLEET_WARM")
    warming.warm(KEY, DAY, today=DAY)
    assert names == []
    assert timers == []


def test_when_the_next_day_begins_its_answers_are_made_ready(wanted, monkeypatch):
    names, timers = wanted
    days = []
    monkeypatch.setattr(warming.reads, "due", lambda _, as_of, __: days.append(as_of))
    monkeypatch.setattr(ready, "make_ready", lambda name, _, __, read: names.append((name, read)))
    warming._again_tomorrow(KEY, datetime(2026, 3, 14, 22, 30))  # noqa: DTZ001
    assert timedelta(hours=1.5) < timedelta(seconds=timers[0].seconds) < timedelta(hours=1.6)
    timers[0].work()
    dict(names)["due"]()
    assert days == [date(2026, 3, 15)]
    assert len(timers) == 2  # and the day after that


def test_not_for_a_store_that_has_changed_since(wanted):
    names, timers = wanted
    warming.warm(KEY, DAY, today=DAY)
    before = len(names)
    ready.note_state((KEY[0], "8-121"))
    timers[0].work()
    assert len(names) == before


def test_a_past_day_is_not_followed_by_another(wanted):
    _, timers = wanted
    warming.warm(KEY, DAY, today=DAY + timedelta(days=40))
    assert timers == []


def test_one_clock_for_a_store(wanted):
    _, timers = wanted
    warming.warm(KEY, DAY, today=DAY)
    warming.warm(KEY, DAY, today=DAY)
    assert [timer.off for timer in timers] == [True, False]
