"""Answers kept by the pages: never one of another state of the store, day or question."""

import threading
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import reads
import ready
from due_choice import USUAL

from fleet.errors import BadInput
from fleet.flow.entering import log_reports
from fleet.flow.known import keep_answers, store_stamp

DAY = date(2020, 1, 1)


@pytest.fixture(autouse=True)
def afresh():
    ready.forget()
    keep_answers()
    yield
    ready.forget()


@pytest.fixture
def key(small_store):
    store = small_store([(f"U{n}", "MA", "working", f"2019-0{n + 1}-01") for n in range(6)])
    return (str(store.resolve()), store_stamp(store))


@pytest.fixture
def large(monkeypatch):
    monkeypatch.setattr(ready, "_LARGE", 1)
    monkeypatch.setattr(ready, "_AT_ONCE_SECONDS", 0.0)


def _log(key, unit, day="2019-12-01"):
    store = Path(key[0])
    log_reports(store, "failed", [unit], {"date": day, "cause": "capacitor"}, today=DAY, by=None)
    return (key[0], store_stamp(store))


def test_an_answer_is_worked_out_once_for_a_state_a_day_and_what_was_asked(key):
    asked = []

    @ready.kept("Counting")
    def count(key, as_of, many=1):
        asked.append((key, as_of, many))
        return object()

    first = count(key, DAY)
    assert count(key, DAY) is first
    others = [count(key, date(2019, 1, 1)), count(key, DAY, 2), count((key[0], "other"), DAY)]
    assert len({id(one) for one in (first, *others)}) == 4
    assert len(asked) == 4


def test_a_fault_is_told_and_asked_again(key):
    tries = []

    @ready.kept("Failing")
    def fail(key):
        tries.append(key)
        raise BadInput("cannot be")

    for _ in range(2):
        with pytest.raises(BadInput, match="cannot be"):
            fail(key)
    assert len(tries) == 2


def test_of_a_large_store_the_page_does_not_wait(key, large):
    free = threading.Event()

    @ready.kept("Counting slowly")
    def count(key):
        free.wait(30)
        return 7

    with pytest.raises(ready.NotYet) as late:
        count(key)
    free.set()
    assert late.value.job.done.wait(30)
    assert count(key) == 7


def test_what_an_answer_needs_is_worked_out_on_the_way(key, large):
    @ready.kept("Inner")
    def inner(key):
        return 2

    @ready.kept("Outer")
    def outer(key):
        return inner(key) + 1

    with pytest.raises(ready.NotYet) as late:
        outer(key)
    assert late.value.job.done.wait(30)
    assert outer(key) == 3
    assert inner(key) == 2


def test_what_waits_for_an_earlier_state_is_let_go(key, large):
    free, begun = threading.Event(), threading.Event()
    done = []

    @ready.kept("Counting")
    def count(key, number):
        begun.set()
        free.wait(30)
        done.append(number)
        return number

    ready.note_state(key)
    lates = []
    for number in (1, 2):
        with pytest.raises(ready.NotYet) as late:
            count(key, number)
        lates.append(late.value.job)
    assert begun.wait(30)
    assert ready.note_state((key[0], "newer"))
    assert not ready.note_state((key[0], "newer"))
    free.set()
    assert lates[0].done.wait(30)

    @ready.kept("After")
    def after(key):
        return True

    with pytest.raises(ready.NotYet) as late:
        after((key[0], "newer"))
    assert late.value.job.done.wait(30)
    assert done == [1]


def test_a_reader_goes_before_what_is_only_made_ready(key, large):
    free, order = threading.Event(), []

    @ready.kept("First")
    def first(key):
        free.wait(30)

    @ready.kept("Asked")
    def asked(key):
        order.append("asked")

    with pytest.raises(ready.NotYet):
        first(key)
    ready.make_ready("later", key, "Making ready", lambda: order.append("made ready"))
    with pytest.raises(ready.NotYet) as late:
        asked(key)
    free.set()
    assert late.value.job.done.wait(30)
    ready.make_ready("last", key, "Making ready", lambda: None)
    for job in list(ready._bench.jobs.values()):
        assert job.done.wait(30)
    assert order == ["asked", "made ready"]


def test_what_one_session_saves_another_sees_on_its_next_run(key, open_view):
    here, there = open_view("units", unit="U2"), open_view("units", unit="U2")
    (record,) = log_reports(
        Path(key[0]), "failed", ["U2"], {"date": "2019-12-01"}, today=DAY, by=None
    ).records
    for page in (here, there):
        assert not any(record in str(table.value.to_dict()) for table in page.dataframe)
        page.run()
        assert not page.exception
        assert any(record in str(table.value.to_dict()) for table in page.dataframe)


def test_the_due_list_after_a_report_is_that_of_the_store_then(key):
    before = reads.due(key, DAY, USUAL)[0]
    assert "U2" in before["unit"].to_list()
    after = reads.due(_log(key, "U2"), DAY, USUAL)[0]
    assert "U2" not in after["unit"].to_list()
    # As of a day before the report was dated nothing changes.
    earlier = date(2019, 11, 1)
    one = reads.due(key, earlier, USUAL)[0]
    assert "U2" in one["unit"].to_list()


def test_options_of_the_due_list_are_part_of_what_was_asked(key):
    usual = reads.due(key, DAY, USUAL)[0]
    far = reads.due(key, DAY, replace(USUAL, horizon=5.0))[0]
    assert set(usual["horizon_years"]) == {2.0}
    assert set(far["horizon_years"]) == {5.0}
    both = reads.due(key, DAY, replace(USUAL, estimate="both"))[0]
    assert "p_fail_by_likelihood" in both.columns
    assert "p_fail_by_likelihood" not in usual.columns


def test_long_work_says_how_far_it_is(key, large):
    going, go_on = threading.Event(), threading.Event()

    @ready.kept("Counting")
    def count(key):
        ready.tell("3 of 7: batches")
        going.set()
        assert go_on.wait(10)
        return 7

    with pytest.raises(ready.NotYet) as late:
        count(key)
    assert going.wait(10)
    assert late.value.job.far == "3 of 7: batches"
    go_on.set()
    assert late.value.job.done.wait(10)
    ready.tell("nothing is worked on here")
    assert late.value.job.far == "3 of 7: batches"


def test_an_answer_at_hand_is_given_and_none_is_worked_out_for_it(key):
    made = []

    @ready.kept("Counting")
    def counted(key, day):
        made.append(day)
        return len(made)

    assert ready.at_hand(counted, key, DAY) is None
    assert made == []
    assert counted(key, DAY) == 1
    assert ready.at_hand(counted, key, DAY) == 1
    assert ready.at_hand(counted, key, date(2020, 1, 2)) is None


def test_what_takes_long_the_first_time_says_how_long(key, monkeypatch):
    said = []
    spinner = ready.st.spinner
    monkeypatch.setattr(ready.st, "spinner", lambda text: said.append(text) or spinner(text))

    @ready.kept("Counting", long="about half a minute")
    def counted(key):
        return 1

    assert [counted(key), counted(key)] == [1, 1]
    assert said == ["Counting. The first time takes about half a minute."]
