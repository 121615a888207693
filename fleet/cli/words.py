"""Words on stderr: notes, progress, warnings. Results never go here."""

import sys
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress

PATIENCE_SECONDS = 1.5
_FEW_SAID = 3


def say(text: str) -> None:
    """One line (or paragraph) on stderr; a reader that has gone is no error."""
    with suppress(BrokenPipeError):
        print(text, file=sys.stderr, flush=True)  # noqa: T201


def say_all(sentences: Iterable[str]) -> None:
    """Each sentence on its own line, with its full stop."""
    for sentence in sentences:
        say(sentence if sentence.endswith((".", "!", "?")) else f"{sentence}.")


def say_background(sentences: Sequence[str], *, elsewhere: bool) -> None:
    """What was taken for granted in the lives: all of it where short, else where to read it.

    `elsewhere`: another command prints it, as it does for a store.
    """
    if not elsewhere or len(sentences) <= _FEW_SAID:
        say_all(sentences)
    else:
        say(f"{len(sentences)} notes on what went into the lives: fleet lives prints them.")


@contextmanager
def busy(doing: str) -> Iterator[Callable[[str], None]]:
    """Say what is being done if it takes longer than a moment: `with busy("Reading"): ...`.

    Gives a function to call with each next step; steps are said once the moment has passed.
    """
    steps = [doing]
    late = threading.Event()

    def speak_up() -> None:
        late.set()
        say(f"{steps[-1]} ...")

    def next_step(doing: str) -> None:
        steps.append(doing)
        if late.is_set():
            say(f"{doing} ...")

    timer = threading.Timer(PATIENCE_SECONDS, speak_up)
    timer.daemon = True
    timer.start()
    try:
        yield next_step
    finally:
        timer.cancel()


def counted(number: int, one: str, many: str | None = None) -> str:
    """`1 report`, `3 reports`."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
