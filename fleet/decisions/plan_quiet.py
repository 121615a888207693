"""Keeps a library's own lines out of the results on stdout.

HiGHS now and then writes a line of its own from C++ whatever it is told
(transformNewIntegerFeasibleSolution), which would break JSON. It goes to stderr instead.
"""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress


@contextmanager
def stdout_to_stderr() -> Iterator[None]:
    """What is written to file descriptor 1 meanwhile goes to 2, C's own buffers included."""
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):  # no stdout to keep clean
        yield
        return
    try:
        os.dup2(2, 1)
        yield
    finally:
        with suppress(OSError, AttributeError, TypeError):
            ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
