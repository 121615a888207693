"""Answers that take more than a moment: kept per state of the store, and, of a large store, worked
out behind the page, which is drawn at once and draws the answer when it is there.

An answer is found by the store, its stamp, the day and all that was asked for, so that nobody sees
one of a store that has changed since. One thread works, on one answer at a time; what a reader
waits for goes before what is only made ready. The thread ends with the server, and holds no store.
"""

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from functools import wraps
from pathlib import Path
from typing import ParamSpec, TypeVar, cast

import streamlit as st

from fleet.errors import FleetError
from fleet.flow.known import known_records

P = ParamSpec("P")
T = TypeVar("T")
Key = tuple[str, str]

_LARGE = 3_000  # machines from which on answers are worked out behind the page
_AT_ONCE_SECONDS = 0.7  # an answer that is there by then is drawn with the page
_LOOK_SECONDS = 1.0  # from one look whether it is there to the next
_MOST = 40  # answers kept in all
_MOST_WAITING = 24
_SHOWN = "answers_waited_for"


@dataclass(slots=True, eq=False)
class Job:
    """One answer: what it is, how to make it, and how far it is."""

    name: Hashable
    key: Key
    what: str
    work: Callable[[], object]
    asked: bool  # by a reader, not only to be ready
    began: float | None = None
    far: str = ""  # what of it is being done
    long: str = ""  # how long it takes the first time, where that is long
    show: Callable[[str], object] | None = None  # draws that, where the page's own thread works
    done: threading.Event = field(default_factory=threading.Event)
    answer: object = None
    fault: Exception | None = None


class NotYet(Exception):
    """The answer is being worked out; `waiting` says so on the page."""

    def __init__(self, job: Job) -> None:
        super().__init__(job.what)
        self.job = job


class _Bench:
    """The jobs of this server."""

    def __init__(self) -> None:
        self.jobs: OrderedDict[Hashable, Job] = OrderedDict()
        self.changed = threading.Condition()
        self.newest: dict[str, str] = {}  # stamp by store
        self.thread: threading.Thread | None = None


_bench = _Bench()


def kept(what: str, *, long: str = "") -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Keep the answers of a function whose first argument is the key of a store and whose others
    are what is asked for. `what`: what is being done, for the page; `long`: how long it takes the
    first time with a store that is not large.

    Nobody changes an answer: each reader is given the same. Raises NotYet where it is not there.
    """

    def made(work: Callable[P, T]) -> Callable[P, T]:
        @wraps(work)
        def read(*args: P.args, **asked: P.kwargs) -> T:
            key = cast("Key", args[0])
            name = (work.__module__, work.__qualname__, args, tuple(sorted(asked.items())))
            job = _job(name, key, what, lambda: work(*args, **asked), asked=True)
            job.long = long
            return cast("T", _answer(job))

        return read

    return made


def at_hand(read: Callable[P, T], *args: P.args, **asked: P.kwargs) -> T | None:
    """The answer of a kept function if it is there already; nothing is worked out for it."""
    name = (read.__module__, read.__qualname__, args, tuple(sorted(asked.items())))
    with _bench.changed:
        job = _bench.jobs.get(name)
    return cast("T", job.answer) if job is not None and job.done.is_set() else None


def make_ready(name: str, key: Key, what: str, read: Callable[[], object]) -> None:
    """Work out behind the pages what somebody will ask for."""
    with _bench.changed:
        if sum(not job.done.is_set() for job in _bench.jobs.values()) >= _MOST_WAITING:
            return
    _job(("ready", name, key), key, what, read, asked=False)
    _start()


def note_state(key: Key) -> bool:
    """Take note of the state of a store; whether it is another. What waits for an earlier goes."""
    path, stamp = key
    with _bench.changed:
        if _bench.newest.get(path) == stamp:
            return False
        _bench.newest[path] = stamp
        for name, job in list(_bench.jobs.items()):
            if job.key[0] == path and job.key[1] != stamp and job.began is None:
                del _bench.jobs[name]
        return True


def is_newest(key: Key) -> bool:
    """Whether no later state of the store has been seen."""
    return _bench.newest.get(key[0]) == key[1]


def waiting(late: NotYet) -> None:
    """Say on the page what is being worked out; the page is drawn anew when it is there."""
    job = late.job
    shown = st.session_state.setdefault(_SHOWN, [])
    if job in shown:  # said above; when it is there the whole page is drawn anew
        st.caption(f":material/hourglass: {job.what}, as above")
        return
    shown.append(job)
    with st.container(border=True, key=f"reckoning_{len(shown)}"):

        @st.fragment(run_every=_LOOK_SECONDS)
        def look() -> None:
            if job.done.is_set():
                st.rerun()
            before = _ahead_of(job)
            since = "" if job.began is None else f" for {time.monotonic() - job.began:.0f} s so far"
            st.markdown(f":material/hourglass: **{job.what}**{since}")
            if job.far:
                st.caption(job.far)
            st.caption(
                "The store is large: this part appears here by itself as soon as it is there. "
                + (f"{before} other answers come before it." if before else "")
            )

        look()


def nothing_waits() -> None:
    """A run of a page begins: nothing on it waits yet."""
    st.session_state[_SHOWN] = []


def _job(
    name: Hashable, key: Key, what: str, work: Callable[[], object], *, asked: bool
) -> Job:  # fmt: skip
    with _bench.changed:
        job = _bench.jobs.get(name)
        if job is None:
            job = _bench.jobs[name] = Job(name=name, key=key, what=what, work=work, asked=asked)
        job.asked |= asked
        _bench.jobs.move_to_end(name)
        finished = [n for n, one in _bench.jobs.items() if one.done.is_set()]
        for old in finished[: max(0, len(_bench.jobs) - _MOST)]:
            del _bench.jobs[old]
        return job


def _answer(job: Job) -> object:
    if not job.done.is_set():
        if _within_a_job() or not _is_large(job.key):
            _here_and_now(job)
        else:
            _start()
            if not job.done.wait(_AT_ONCE_SECONDS):
                raise NotYet(job)
    if job.fault is not None:
        _drop(job)
        raise job.fault
    return job.answer


def _here_and_now(job: Job) -> None:
    """Work it out in this thread, or wait for the one that does already."""
    with _bench.changed:
        mine = job.began is None
        if mine:
            job.began = time.monotonic()
    if _within_a_job():
        _work(job) if mine else job.done.wait()
        return
    takes = f". The first time takes {job.long}." if job.long else ""
    with st.spinner(f"{job.what}{takes}"):
        far = st.empty()
        if mine:
            job.show = far.caption
            _work(job)
        else:
            job.done.wait()
        far.empty()


def _work(job: Job) -> None:
    outer, within = getattr(_here, "working_on", None), _within_a_job()
    _here.job = True
    _here.working_on = outer or job  # what that needs is a part of it
    try:
        job.answer = job.work()
    except Exception as fault:
        job.fault = fault
    finally:
        _here.job, _here.working_on = within, outer
        job.show = None
        job.done.set()


_here = threading.local()


def tell(far: str) -> None:
    """Say, from within the work on an answer, what of it is being done."""
    job: Job | None = getattr(_here, "working_on", None)
    if job is not None:
        job.far = far
        if job.show is not None:
            job.show(far)


def _within_a_job() -> bool:
    """Whether this thread works on an answer already: what that needs is worked out on the way."""
    return bool(getattr(_here, "job", False))


def _start() -> None:
    with _bench.changed:
        if _bench.thread is None or not _bench.thread.is_alive():
            _bench.thread = threading.Thread(target=_work_off, name="answers", daemon=True)
            _bench.thread.start()
        _bench.changed.notify()


def _work_off() -> None:
    while True:
        with _bench.changed:
            job = _next()
            while job is None:
                _bench.changed.wait()
                job = _next()
            job.began = time.monotonic()
        _work(job)


def _next() -> Job | None:
    free = [job for job in _bench.jobs.values() if job.began is None]
    return min(free, key=lambda job: not job.asked, default=None)


def _ahead_of(job: Job) -> int:
    with _bench.changed:
        if job.began is not None:
            return 0
        running = sum(j.began is not None and not j.done.is_set() for j in _bench.jobs.values())
        names = [j for j in _bench.jobs.values() if j.began is None and j.asked]
        return running + (names.index(job) if job in names else len(names))


def _drop(job: Job) -> None:
    with _bench.changed:
        _bench.jobs.pop(job.name, None)


_sizes: dict[Key, int] = {}


def _is_large(key: Key) -> bool:
    if key not in _sizes:
        try:
            units = known_records(Path(key[0]), ("units",), as_of=None)["units"]
        except FleetError:
            return False
        _sizes.clear()
        _sizes[key] = units.height
    return _sizes[key] >= _LARGE


def forget() -> None:
    """Let go of every answer; those being worked out end by themselves."""
    with _bench.changed:
        _bench.jobs.clear()
        _bench.newest.clear()
    _sizes.clear()
