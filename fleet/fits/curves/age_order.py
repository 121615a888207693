"""Ages of all groups in one order, from one sort of whole numbers that carry all they need."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from fleet.ages import DAYS_PER_YEAR
from fleet.fits.rows import Floats, Ints

_Words = npt.NDArray[np.uint64]
_NARROW = 30  # bits of an age that leave room for the group and the rest
_FEW = 200  # distinct weights that are carried within the words


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Moves:
    """Arrivals and departures by group and age: `change` of the lives watched, and `failures`."""

    group: Ints
    age: Floats
    change: Floats
    failures: Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Coded:
    """Ages as whole numbers in their order: `ages[number]`, or their bits, or days in years."""

    words: _Words
    width: int
    idle: int = 0
    ages: Floats | None = None
    whole_days: bool = False

    def decode(self, words: _Words) -> Floats:
        """The ages again, exactly."""
        if self.ages is not None:
            return np.asarray(self.ages[words.astype(np.int64)])
        if self.whole_days:
            return np.asarray(words.astype(np.float64) / DAYS_PER_YEAR)
        return (words << np.uint64(self.idle)).view(np.float64)


def order_moves(group: Ints, entry: Floats, low: Floats, count: Floats, failed: Floats) -> Moves:
    """Every entry (+count) and end (-count, `failed` of it failures), by group and age.

    The order within one group and age depends on the counts alone, never on the order of rows.
    """
    coded = _code(np.concatenate((entry, low)))
    many = int(group.max()).bit_length() if len(group) else 0
    weights, kind = _weights(count)
    bits = (3 * len(weights)).bit_length()
    if kind is None or coded.width + many + bits > 64:
        return _by_order(coded.words, group, entry, low, count, failed)
    own = group.astype(np.uint64) << np.uint64(coded.width + bits)
    rows = len(group)
    # the last bits: which weight, and whether it came (0), left (1) or failed (2)
    word = coded.words << np.uint64(bits)
    word[:rows] |= own | (3 * kind)
    word[rows:] |= own | (3 * kind + np.where(failed > 0.0, np.uint64(2), np.uint64(1)))
    word.sort()
    ages = coded.decode((word >> np.uint64(bits)) & np.uint64((1 << coded.width) - 1))
    last = (word & np.uint64((1 << bits) - 1)).astype(np.int64)
    change = np.outer(weights, (1.0, -1.0, -1.0)).ravel()
    lost = np.outer(weights, (0.0, 0.0, 1.0)).ravel()
    return Moves(
        group=(word >> np.uint64(coded.width + bits)).astype(np.int64),
        age=ages,
        change=change[last],
        failures=lost[last],
    )


def _code(age: Floats) -> _Coded:
    """The bits of a number >= 0 sort like the number; zeros that all of them end in are cut off."""
    bits = (age + 0.0).view(np.uint64)
    together = int(np.bitwise_or.reduce(bits)) if len(bits) else 0
    idle = (together & -together).bit_length() - 1 if together else 0
    width = (together >> idle).bit_length()
    if width <= _NARROW:
        return _Coded(words=bits >> np.uint64(idle), width=width, idle=idle)
    days = np.rint(age * DAYS_PER_YEAR)
    most = float(days.max())
    if most < 2.0**_NARROW and bool((days / DAYS_PER_YEAR == age).all()):
        return _Coded(words=days.astype(np.uint64), width=int(most).bit_length(), whole_days=True)
    distinct = np.unique(age)
    words = np.searchsorted(distinct, age).astype(np.uint64)
    return _Coded(words=words, width=len(distinct).bit_length(), ages=distinct)


def _weights(count: Floats) -> tuple[Floats, _Words | None]:
    """Distinct counts and which of them each row has; None where there are too many."""
    if not len(count) or bool((count == count[0]).all()):
        return count[:1], np.zeros(len(count), dtype=np.uint64)
    distinct = np.unique(count)
    if len(distinct) > _FEW:
        return distinct, None
    return distinct, np.searchsorted(distinct, count).astype(np.uint64)


def _by_order(
    words: _Words, group: Ints, entry: Floats, low: Floats, count: Floats, failed: Floats
) -> Moves:
    """The same where the words have no room: sorted by group, age and count, then gathered."""
    twice = np.concatenate((group, group))
    change = np.concatenate((count, -count))
    order = np.lexsort((change, words, twice))
    return Moves(
        group=twice[order],
        age=np.concatenate((entry, low))[order],
        change=change[order],
        failures=np.concatenate((np.zeros(len(group)), failed))[order],
    )
