"""Keeps a library's own lines out of the results on stdout.

HiGHS now and then writes a line of its own from C++ whatever it is told
(transformNewIntegerFeasibleSolution), which would break JSON. It tells a user nothing, so it goes
nowhere.
"""

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress


@contextmanager
def quiet_stdout() -> Iterator[None]:
    """What is written to file descriptor 1 meanwhile goes nowhere, C's own buffers included."""
    try:
        sys.stdout.flush()
        kept = os.dup(1)
    except (OSError, ValueError, AttributeError):  # no stdout to keep clean
        yield
        return
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 1)
        os.close(nowhere)
        yield
    finally:
        with suppress(OSError, AttributeError, TypeError):
            ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)
