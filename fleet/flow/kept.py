"""Answers kept beside the very things they were reckoned from, for programs that stay open.

Off unless asked for: a command asks once and ends. An answer is found again only by the same
objects (not equal ones) and the same options, and what it was reckoned from is held with it, so
that it can never be taken for the answer to something else. The records of a store come as the
same frames for as long as they stand (`store.known_again`), which is what makes this of use.
"""

import threading
from collections import OrderedDict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from hashlib import blake2b
from typing import Any, TypeVar

import polars as pl

T = TypeVar("T")

_MOST = 4  # answers of each name: those of a day or two, before and after a save
# Of a part of the machines: some 200 MB of models and of due lists.
_MOST_PARTS = {"model": 3_000, "due": 400, "pooled": 400}


class _Switch:
    """Whether answers are kept."""

    on = False


@dataclass(slots=True, eq=False)
class _Slot:
    """One answer, and what it was reckoned from; worked out by whoever asks first."""

    of: tuple[object, ...]
    working: threading.Lock = field(default_factory=threading.Lock)
    done: bool = False
    answer: Any = None


_slots: dict[str, OrderedDict[Hashable, _Slot]] = {}
_parts: dict[str, OrderedDict[Hashable, Any]] = {name: OrderedDict() for name in _MOST_PARTS}
_lock = threading.Lock()


def keep(on: bool) -> None:
    """Keep answers from now on, or no longer."""
    _Switch.on = on
    if not on:
        with _lock:
            _slots.clear()
            for parts in _parts.values():
                parts.clear()


def keeping() -> bool:
    """Whether answers are kept."""
    return _Switch.on


def kept(name: str, of: Sequence[object], asked: Hashable, work: Callable[[], T]) -> T:
    """The answer of `work`, worked out once for the same `of` and `asked`.

    Two who ask at once wait for one answer. A fault is raised to each and not kept.
    """
    if not _Switch.on:
        return work()
    key = (tuple(id(one) for one in of), asked)
    with _lock:
        slots = _slots.setdefault(name, OrderedDict())
        slot = slots.get(key)
        if slot is None:
            slot = slots[key] = _Slot(of=tuple(of))
        slots.move_to_end(key)
        while len(slots) > _MOST:
            slots.popitem(last=False)
    with slot.working:
        if not slot.done:
            slot.answer = work()
            slot.done = True
        answer: T = slot.answer
        return answer


def part(name: str, told_by: Hashable, work: Callable[[], T]) -> T:
    """A part of an answer, found again by a fingerprint of all it depends on."""
    if not _Switch.on:
        return work()
    parts = _parts[name]
    with _lock:
        if told_by in parts:
            parts.move_to_end(told_by)
            found: T = parts[told_by]
            return found
    answer = work()
    with _lock:
        parts[told_by] = answer
        while len(parts) > _MOST_PARTS[name]:
            parts.popitem(last=False)
    return answer


def fingerprint(*frames: pl.DataFrame) -> bytes:
    """What tells frames from any others: a digest of their columns, types and values."""
    digest = blake2b(digest_size=20)
    for frame in frames:
        digest.update(repr(list(frame.schema.items())).encode())
        # One chunk: the same rows must have the same bytes however they were put together.
        digest.update(frame.rechunk().write_ipc_stream(None, compat_level=_PLAIN).getvalue())
    return digest.digest()


_PLAIN = pl.CompatLevel.oldest()  # strings by offsets, not as views into buffers that may differ
