"""Are the lives of several groups alike? METHODS: log-rank, likelihood-ratio, equal-shape."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.groups.life_ages import Ages
from fleet.fits.groups.log_rank import RankTest, forward_spells, rank_test, reverse_spells
from fleet.fits.groups.permuted import permuted_p, permuted_ranks
from fleet.fits.groups.score_test import LARGEST, score_test
from fleet.fits.groups.suprema import common_shape, rows_of, suprema
from fleet.fits.rows import Floats, Ints, Rows, cut_rows, group_codes, group_sum

FEW = 10.0  # failures in a group below which chi-square limits are rough; our own rule
TESTS = ("log-rank", "likelihood-ratio", "equal-shape", "equal-scale")
_SCHEMA = {
    "test": pl.String,
    "statistic": pl.Float64,
    "degrees_of_freedom": pl.Int64,
    "p_value": pl.Float64,
    "p_permuted": pl.Float64,
    "note": pl.String,
}
_NOT_TOGETHER = "no group was at risk at the same age as another when something failed"
_NO_CURVE = "the lives do not fix one curve to test against; the likelihood-ratio test stands in"
_NO_SHAPE = "no one shape fits all groups best: the likelihood keeps rising"
_ROUGH = "few failures in a group: p_value is rough"
_Test = tuple[str, float | None, int | None, float | None, float | None, str | None]


def compare(lives: pl.DataFrame, by: Sequence[str], *, seed: int = 1) -> pl.DataFrame:
    """Tests of equal lives over the groups `by`.

    Columns: test, statistic, degrees_of_freedom, p_value, p_permuted, note. "log-rank" compares
    failures with what the lives at risk beside them let expect; where failures are known only
    to an interval, or only because they failed, the test that stands in for it, named in `note`.
    "likelihood-ratio" compares Weibull fits of each group with one of all lives; "equal-shape"
    compares them with fits that share the shape and not the scale, "equal-scale" compares these
    with the one fit. `p_permuted` (where a group has fewer than
    10 failures): the share of random regroupings, drawn from `seed`, that differ as much. A
    statistic is null where there is none, and `note` says why. Raises BadFrame, or BadInput
    without `by`.
    """
    if not by:
        raise BadInput("name the columns whose groups are to be compared")
    rows = cut_rows(lives, ())
    keys, codes = group_codes(lives, by)
    if keys.height < 2:
        why = "there is only one group: nothing to compare it with"
        return pl.DataFrame([_untested(name, why) for name in TESTS], _SCHEMA, orient="row")
    tests = [_log_rank(rows, codes, keys.height, seed), *_ratios(rows, codes, keys.height, seed)]
    return pl.DataFrame(tests, schema=_SCHEMA, orient="row")


def p_value(statistic: float | None, freedom: int | None) -> float | None:
    """Chance of a chi-square at least this large; None without one."""
    from scipy.special import chdtrc

    return None if statistic is None or not freedom else float(chdtrc(freedom, statistic))


def _log_rank(rows: Rows, group: Ints, groups: int, seed: int) -> _Test:
    failures = group_sum(group, rows.count * ~np.isnan(rows.high), groups)
    found, stands_in = _rank_test(rows, group, groups)
    if found is None or found.statistic is None:
        why = stands_in if found is None else _NOT_TOGETHER if stands_in is None else _NO_CURVE
        return _untested("log-rank", why or _NO_CURVE)
    said = [] if stands_in is None else [stands_in]
    if found.idle:
        many = "1 group was" if found.idle == 1 else f"{found.idle} groups were"
        said.append(f"{many} never at risk when another failed, and left out")
    if found.apart > 1:
        said.append(
            f"the groups fall into {found.apart} sets that were never at risk at the same age; "
            "each is compared within itself"
        )
    if found.rough:
        said.append("so many groups that a simpler test is made")
    permuted = None
    if (failures < FEW).any():
        if stands_in is None:
            permuted = permuted_ranks(rows, group, groups, found.statistic, seed=seed)
        said.append(_ROUGH if permuted is None else f"{_ROUGH}, p_permuted is not")
    p = p_value(found.statistic, found.freedom)
    return ("log-rank", found.statistic, found.freedom, p, permuted, "; ".join(said) or None)


def _rank_test(rows: Rows, group: Ints, groups: int) -> tuple[RankTest | None, str | None]:
    """The log-rank test where the lives allow it, else what stands in, and a sentence."""
    spread, known = rows.high > rows.low, ~np.isnan(rows.known_by)
    if not (spread.any() or known.any()):
        spells = forward_spells(group, groups, rows.entry, rows.low, rows.high, rows.count)
        return rank_test(spells), None
    if known.all() and not spread.any() and not (rows.entry > 0.0).any():
        spells = reverse_spells(group, groups, rows.low, rows.known_by, rows.count)
        return rank_test(spells), (
            "every life is known only because it failed: log-rank with time running backwards"
        )
    found = score_test(rows, group, groups)
    if found is not None:
        return found, (
            "ages of failure known only within limits: failures and lives at risk as expected "
            "from one curve of all lives (score test)"
        )
    if known.any():
        return None, (
            f"more than {LARGEST:,} different ages or too many groups, and lives known only "
            "because they failed: the likelihood-ratio test stands in"
        )
    middle = 0.5 * (rows.low + rows.high)
    low = np.where(spread, middle, rows.low)
    high = np.where(spread, middle, rows.high)
    spells = forward_spells(group, groups, rows.entry, low, high, rows.count)
    return rank_test(spells), (
        f"more than {LARGEST:,} different ages or too many groups: failures known within limits "
        "were taken in the middle"
    )


def _untested(name: str, why: str) -> _Test:
    return (name, None, None, None, None, why)


def _ratios(rows: Rows, group: Ints, groups: int, seed: int) -> list[_Test]:
    ages = Ages(rows.entry, rows.low, rows.high, rows.known_by)
    apart = rows_of(ages, rows.count, group, groups)
    tops, whole = suprema(apart), float(suprema(rows)[0])
    failures = group_sum(group, rows.count * ~np.isnan(rows.high), groups)
    if not np.isfinite(whole):
        why = "all failures fall at one age: the likelihood has no bound"
        return [_untested(name, why) for name in TESTS[1:]]
    shared = common_shape(apart)
    few = bool((failures < FEW).any())
    return [
        _likelihood_ratio(rows, group, tops, whole, failures, seed, few=few),
        _equal_shape(tops, failures, shared, few=few),
        _equal_scale(whole, failures, shared, few=few),
    ]


def _likelihood_ratio(
    rows: Rows, group: Ints, tops: Floats, whole: float, failures: Floats, seed: int, *, few: bool
) -> _Test:
    name, groups = TESTS[1], len(tops)
    if not np.isfinite(tops).all():
        return _untested(name, _boundless(tops))
    statistic, freedom = max(2.0 * (float(tops.sum()) - whole), 0.0), 2 * (groups - 1)
    permuted = permuted_p(rows, group, groups, statistic, seed=seed) if few else None
    note = _few_words(failures, permuted) if few else None
    return (name, statistic, freedom, p_value(statistic, freedom), permuted, note)


def _boundless(tops: Floats) -> str:
    many = int((~np.isfinite(tops)).sum())
    whose = "1 group" if many == 1 else f"{many} groups"
    return (
        f"in {whose} all failures fall at one age that no life outlasts: the likelihood has no "
        "bound; see equal-scale"
    )


def _few_words(failures: Floats, permuted: float | None) -> str:
    without = int((failures <= 0.0).sum())
    said = "few failures in a group: p_value is rough"
    said += "" if permuted is None else ", p_permuted is not"
    if without:
        one = "one group has" if without == 1 else f"{without} groups have"
        said += f"; {one} no failure, which counts as a life without end"
    return said


def _equal_shape(
    tops: Floats, failures: Floats, shared: tuple[float, float] | None, *, few: bool
) -> _Test:
    name, some = TESTS[2], int((failures > 0.0).sum())
    if some < 2:
        why = "fewer than two groups have failures: their shapes cannot be compared"
        return _untested(name, why)
    if not np.isfinite(tops).all():
        return _untested(name, _boundless(tops))
    if shared is None:
        return _untested(name, _NO_SHAPE)
    statistic, freedom = max(2.0 * (float(tops.sum()) - shared[1]), 0.0), some - 1
    note = _ROUGH if few else None
    return (name, statistic, freedom, p_value(statistic, freedom), None, note)


def _equal_scale(
    whole: float, failures: Floats, shared: tuple[float, float] | None, *, few: bool
) -> _Test:
    if shared is None:
        return _untested(TESTS[3], _NO_SHAPE)
    statistic, freedom = max(2.0 * (shared[1] - whole), 0.0), len(failures) - 1
    note = _ROUGH if few else None
    return (TESTS[3], statistic, freedom, p_value(statistic, freedom), None, note)
