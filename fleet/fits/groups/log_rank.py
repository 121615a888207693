"""Do groups fail as often as the lives at risk with them? METHODS: log-rank.

Every failure age is compared with what an even spread over the lives then at risk would give.
The risk sets are never laid out age by group: each life is two jumps of its group's number at
risk, and sums over ages become sums over jumps.
"""

from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask, group_sum

_NEAR = 1e-10  # smaller shares of a variance are rounding
_KEYS = 20_000_000  # places x groups up to which sums are kept for each
MOST_GROUPS = 3_000  # groups up to which their covariances are kept
_CELLS = 4_000_000  # numbers at risk laid out at once


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Spells:
    """Lives as stretches of the ordered failure ages: at risk at places start <= i < stop.

    `failed` says which lives fail, at place `place`.
    """

    group: Ints
    groups: int
    start: Ints
    stop: Ints
    place: Ints
    failed: Mask
    places: int
    count: Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class RankTest:
    """Chi-square statistic and its degrees of freedom, None where nothing can be compared.

    `observed`, `expected`: failures by group. `apart`: sets of groups that were never at risk at
    the same age; `idle`: groups never at risk together with a failure; `rough`: more groups
    than covariances are kept for, see `rank_test`.
    """

    statistic: float | None
    freedom: int | None
    observed: Floats
    expected: Floats
    apart: int
    idle: int
    rough: bool = False


def forward_spells(group: Ints, groups: int, entry: Floats, low: Floats, high: Floats,
                   count: Floats) -> Spells:  # fmt: skip
    """Exact and right-censored lives (high NaN) with delayed entry: entry < t <= low."""
    failed = ~np.isnan(high)
    ages = np.unique(low[failed])
    return Spells(
        group=group,
        groups=groups,
        start=np.searchsorted(ages, entry, "right"),
        stop=np.searchsorted(ages, low, "right"),
        place=np.searchsorted(ages, low),
        failed=failed,
        places=len(ages),
        count=count,
    )


def reverse_spells(group: Ints, groups: int, low: Floats, known_by: Floats,
                   count: Floats) -> Spells:  # fmt: skip
    """Exact failures known only because they failed, with time running backwards.

    Lagakos, Barraj and De Gruttola (1988), Biometrika 75:515-523: at risk where
    low <= t <= known_by.
    """
    ages = np.unique(low)
    place = np.searchsorted(ages, low)
    return Spells(
        group=group,
        groups=groups,
        start=place,
        stop=np.searchsorted(ages, known_by, "right"),
        place=place,
        failed=np.ones(len(low), dtype=bool),
        places=len(ages),
        count=count,
    )


def rank_test(spells: Spells) -> RankTest:
    """Mantel (1966), Cancer Chemotherapy Reports 50:163-170, for any number of groups.

    Hypergeometric variance. Groups that never met at a failure are compared only within the
    sets that did; each such set has one degree of freedom fewer than groups. Beyond 3,000 groups
    the sum of (observed - expected)^2 / expected, which is never larger (Peto and Pike 1973,
    Biometrics 29:579-584).
    """
    come = group_sum(spells.start, spells.count, spells.places + 1)
    go = group_sum(spells.stop, spells.count, spells.places + 1)
    n = np.cumsum(come - go)[: spells.places]
    weights = np.where(spells.failed, spells.count, 0.0)
    d = group_sum(np.minimum(spells.place, spells.places), weights, spells.places + 1)[:-1]
    # shares of a life can leave hardly more than one at risk: no variance there
    several = n > 1.0 + 1e-9
    weight = np.where(several, d * np.maximum(n - d, 0.0) / np.where(several, n - 1.0, 1.0), 0.0)
    observed = group_sum(spells.group, weights, spells.groups)
    rate, once = _tail(d / n), _tail(weight / n)
    lasting = spells.count * (rate[spells.start] - rate[spells.stop])
    spread = spells.count * (once[spells.start] - once[spells.stop])
    expected = group_sum(spells.group, lasting, spells.groups)
    if spells.groups > MOST_GROUPS:
        return _peto(observed, expected)
    single = group_sum(spells.group, spread, spells.groups)
    pairs = _products(spells, _tail(weight / (n * n)))
    return judge(observed, expected, np.diag(single) - pairs)


def _peto(observed: Floats, expected: Floats) -> RankTest:
    use = expected > 1e-9 * max(float(expected.max(initial=0.0)), 1e-300)
    part = (observed - expected)[use] ** 2 / expected[use]
    return RankTest(
        statistic=float(part.sum()) if len(part) > 1 else None,
        freedom=len(part) - 1 if len(part) > 1 else None,
        observed=observed,
        expected=expected,
        apart=1,
        idle=len(use) - len(part),
        rough=True,
    )


def judge(observed: Floats, expected: Floats, variance: Floats) -> RankTest:
    """Chi-square of observed less expected failures, groups that never met kept apart."""
    own = np.diag(variance)
    use = own > _NEAR * max(float(own.max(initial=0.0)), 1e-300)
    kept = np.flatnonzero(use)
    idle = len(own) - len(kept)
    size = np.sqrt(own[kept])
    part = (variance[np.ix_(kept, kept)] / size / size[:, None]) if len(kept) else variance[:0, :0]
    first = np.unique(_sets(np.abs(part) > _NEAR))
    free = np.setdiff1d(np.arange(len(kept)), first)  # one group of each set follows
    if len(free) == 0:
        return RankTest(
            statistic=None, freedom=None, observed=observed, expected=expected, apart=0, idle=idle
        )
    score = ((observed - expected)[kept] / size)[free]
    statistic = float(score @ np.linalg.solve(part[np.ix_(free, free)], score))
    return RankTest(
        statistic=max(statistic, 0.0),
        freedom=len(free),
        observed=observed,
        expected=expected,
        apart=len(first),
        idle=idle,
    )


def _sets(met: Mask) -> Ints:
    """For each group the first group of the set it belongs to, by who met whom."""
    member = np.arange(len(met))
    while len(met):
        lower = np.minimum(member, np.where(met, member, len(met)).min(axis=1))
        lower = lower[lower]
        if np.array_equal(lower, member):
            break
        member = lower
    return member


def _tail(values: Floats) -> Floats:
    """Sums from each place to the last, and 0 beyond."""
    return np.append(np.cumsum(values[::-1])[::-1], 0.0)


def _products(spells: Spells, tail: Floats) -> Floats:
    """Sum over failure ages of weight * at risk in g * at risk in h; `tail`: sums of the weight.

    The ages are cut into blocks of about `size` jumps. Within a block each number at risk is
    what it was at the block's start plus the jumps since: the first part is one product of
    matrices over the blocks, the rest are pairs of jumps in one block.
    """
    place, group, amount = _jumps(spells)
    groups = spells.groups
    size = int(np.clip(0.05 * groups, 1, 64))
    before = np.searchsorted(place, np.arange(spells.places), "right")
    cuts = np.flatnonzero(np.diff(before // size, prepend=-1))
    block = np.searchsorted(cuts, place, "right") - 1
    ends = np.append(cuts[1:], spells.places)
    at_start = place == cuts[block]
    rest = np.where(at_start, 0.0, amount * (tail[place] - tail[ends[block]]))
    weight = tail[cuts] - tail[ends]
    out, carry = np.zeros((groups, groups)), np.zeros(groups)
    width = max(1, _CELLS // groups)
    for low in range(0, len(cuts), width):
        high = min(low + width, len(cuts))
        own = slice(*np.searchsorted(block, (low, high)))
        cell = group[own] * (high - low) + block[own] - low
        shape = (groups, high - low)
        first = group_sum(cell, np.where(at_start[own], amount[own], 0.0), groups * shape[1])
        later = group_sum(cell, np.where(at_start[own], 0.0, amount[own]), groups * shape[1])
        first, later = first.reshape(shape), later.reshape(shape)
        moved = np.cumsum(first + later, axis=1)
        base = carry[:, None] + moved - later
        inner = group_sum(cell, rest[own], groups * shape[1]).reshape(shape)
        out += (0.5 * base * weight[low:high] + inner) @ base.T
        carry += moved[:, -1]
    inside = ~at_start
    out += _near_pairs(group[inside], amount[inside], rest[inside], block[inside], groups, size)
    return np.asarray(out + out.T)


def _near_pairs(group: Ints, amount: Floats, rest: Floats, block: Ints, groups: int,
                size: int) -> Floats:  # fmt: skip
    """Half the sum over pairs of jumps within one block, in order of their place."""
    out = 0.5 * group_sum(group * groups + group, amount * rest, groups * groups)
    for step in range(1, min(size, len(group))):
        same = block[step:] == block[:-step]
        if not same.any():
            break
        key = (group[:-step] * groups + group[step:])[same]
        out += group_sum(key, (amount[:-step] * rest[step:])[same], groups * groups)
    return out.reshape(groups, groups)


def _jumps(spells: Spells) -> tuple[Ints, Ints, Floats]:
    """Places at which a group's number at risk changes, in order, the group, and by how much."""
    place = np.concatenate([spells.start, spells.stop])
    key = place * spells.groups + np.concatenate([spells.group, spells.group])
    amount = np.concatenate([spells.count, -spells.count])
    kept = place < spells.places
    key, amount = key[kept], amount[kept]
    if spells.places * spells.groups <= _KEYS:
        total = group_sum(key, amount, spells.places * spells.groups)
        found = np.flatnonzero(total)
        place, group = np.divmod(found, spells.groups)
        return place, group, total[found]
    order = np.argsort(key, kind="stable")
    key, amount = key[order], amount[order]
    new = np.flatnonzero(np.diff(key, prepend=-1))
    total = np.add.reduceat(amount, new) if len(new) else amount
    place, group = np.divmod(key[new], spells.groups)
    return place, group, total
