"""How often chance alone would part the groups so far. METHODS: permutation."""

import numpy as np

from fleet.fits.groups.life_ages import Ages
from fleet.fits.groups.log_rank import forward_spells, rank_test
from fleet.fits.groups.suprema import rows_of, suprema
from fleet.fits.rows import Floats, Ints, Rows

DRAWS = 999
_FEWEST_DRAWS = 199
_ROWS = 3_000_000  # rows fitted in all
_RANKED_ROWS, _RANKED_GROUPS = 3_000, 300  # beyond, 199 log-rank tests would take long
_CHUNK = 300_000  # rows fitted at once


def permuted_p(
    rows: Rows, group: Ints, groups: int, statistic: float, *, seed: int
) -> float | None:
    """Share of permutations whose likelihood ratio is at least `statistic`, its own included.

    `rows` is one group of lives; labels are dealt out anew over whole lives, each with its own
    entry and end. Exact where groups were watched alike. None where there are too many lives.
    """
    ages, count, group = _single(rows, group)
    n = len(count)
    draws = min(DRAWS, _ROWS // max(n, 1))
    if draws < _FEWEST_DRAWS:
        return None
    whole = suprema(rows_of(ages, count, np.zeros(n, np.int64), 1))[0]
    rng = np.random.default_rng(seed)
    step, as_far, done = max(1, _CHUNK // n), 0, 0
    while done < draws:
        now = min(step, draws - done)
        dealt = rng.permuted(np.tile(group, (now, 1)), axis=1)
        dealt = dealt + groups * np.arange(now)[:, None]
        many = Ages(*(np.tile(age, now) for age in ages))
        drawn_rows = rows_of(many, np.tile(count, now), dealt.ravel(), now * groups)
        tops = suprema(drawn_rows).reshape(now, groups)
        drawn = 2.0 * (tops.sum(axis=1) - whole)
        as_far += int((drawn >= statistic - 1e-7).sum())
        done += now
    return (1 + as_far) / (1 + draws)


def permuted_ranks(
    rows: Rows, group: Ints, groups: int, statistic: float, *, seed: int
) -> float | None:
    """The same for the log-rank test of exact and right-censored lives; fewer permutations."""
    ages, count, group = _single(rows, group)
    if len(count) > _RANKED_ROWS or groups > _RANKED_GROUPS:
        return None
    rng = np.random.default_rng(seed)
    as_far = 0
    for _ in range(_FEWEST_DRAWS):
        dealt = rng.permutation(group)
        spells = forward_spells(dealt, groups, ages.entry, ages.low, ages.high, count)
        drawn = rank_test(spells)
        as_far += drawn.statistic is not None and drawn.statistic >= statistic - 1e-7
    return (1 + as_far) / (1 + _FEWEST_DRAWS)


def _single(rows: Rows, group: Ints) -> tuple[Ages, Floats, Ints]:
    """One row per life where counts are whole; shares of lives stay as they are."""
    times = np.where(rows.count == np.round(rows.count), rows.count, 1.0)
    if times.sum() > _ROWS:
        times = np.ones(len(times))
    repeat = times.astype(np.int64)
    ages = Ages(
        *(np.repeat(age, repeat) for age in (rows.entry, rows.low, rows.high, rows.known_by))
    )
    return ages, np.repeat(rows.count / times, repeat), np.repeat(group, repeat)
