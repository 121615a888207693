"""Words on stderr: notes, progress, warnings. Results never go here."""

import sys
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress

PATIENCE_SECONDS = 1.5


def say(text: str) -> None:
    """One line (or paragraph) on stderr; a reader that has gone is no error."""
    with suppress(BrokenPipeError):
        print(text, file=sys.stderr, flush=True)  # noqa: T201


def say_all(sentences: Iterable[str]) -> None:
    """Each sentence on its own line."""
    for sentence in sentences:
        say(sentence)


@contextmanager
def busy(doing: str) -> Iterator[None]:
    """Say what is being done if it takes longer than a moment: `with busy("Reading"): ...`."""
    timer = threading.Timer(PATIENCE_SECONDS, say, [f"{doing} ..."])
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


def counted(number: int, one: str, many: str | None = None) -> str:
    """`1 report`, `3 reports`."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
