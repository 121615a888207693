"""The occasion of a write: by whom, through what and when, as known where the program is entered.

A command or a page says it once, at the edge, and the store writes it down beside what was done.
It belongs to no function between: none decides by it, and what is computed never depends on it.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Occasion:
    """`through`: the command or page. `clock`: read when something is written. `who`: the name
    somebody is signed in with; it stands in the trail whatever name was typed.
    """

    through: str | None = None
    clock: Callable[[], datetime] | None = None
    who: str | None = None

    def moment(self) -> datetime | None:
        """The moment of writing, or None where nobody looks at a clock."""
        return self.clock() if self.clock is not None else None


_NOT_SAID = Occasion()
_NOW: ContextVar[Occasion] = ContextVar("occasion", default=_NOT_SAID)


def occasion() -> Occasion:
    """What was said last in this thread of work."""
    return _NOW.get()


def say_occasion(said: Occasion) -> None:
    """From here on, in this thread of work, what is written was written on this occasion."""
    _NOW.set(said)


@contextmanager
def on_occasion(said: Occasion) -> Iterator[None]:
    """The same for what is written inside."""
    token = _NOW.set(said)
    try:
        yield
    finally:
        _NOW.reset(token)
