"""Do the groups of a family live alike, and which of them do not? METHODS: lives-alike."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.rows import Floats, Rows, cut_rows, group_sum, with_keys
from fleet.fits.suspects.told_apart import FEWEST, Family, Stage

UNLIKELY = 0.05  # chance below which a difference is called one; common practice
DRAWS = 999
SEED = 20_270_118
_MANY = 60  # families beyond which plainly alike ones are not redrawn
_PLAIN = 0.02  # chance of many failures from which a family is plainly alike ...
_DOUBT = 5.0  # ... or this over the number of comparisons, where that is less

ALIKE = pl.Schema(
    {
        "groups": pl.Int64,  # that were compared
        "lives": pl.Float64,
        "failures": pl.Float64,
        "p_alike": pl.Float64,  # chance of differences as large where all live alike
        "apart": pl.Int64,  # groups told apart
        "p_rest_alike": pl.Float64,  # the same for those that are left
        "reason": pl.String,  # why there is no comparison
    }
)
DEPARTING = pl.Schema(
    {
        "lives": pl.Float64,
        "failures": pl.Float64,
        "expected": pl.Float64,  # failures, did it live like the others (those told apart before
        # it left out)
        "p_value": pl.Float64,
        "p_adjusted": pl.Float64,  # for having looked at all groups
        "order": pl.Int64,  # 1: the first to be told apart; null: not told apart
    }
)
_FEW = f"fewer than {FEWEST:g} failures, too few to compare"
_ONE = "only one group, nothing to compare it with"
_NO_FIT = "the lives together fix no Weibull to hold the groups against"


def lives_alike(
    lives: pl.DataFrame,
    within: Sequence[str],
    by: str,
    *,
    chance: float = UNLIKELY,
    draws: int = DRAWS,
    seed: int = SEED,
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Hold the groups `by` of each family `within` against one Weibull of the family.

    Returns `within` + ALIKE, one row a family, and `within` + `by` + DEPARTING, one row a group,
    both in order of names. The least likely group of all families is told apart while its
    p-value times the number of groups still compared is at most `chance`; its family is then
    compared anew without it, so that a bad group accuses no other. In a family of two, which of
    them departs cannot be told: the first is the one further from both together.

    Chances come from `draws` fleets in which the family lives alike, each life watched as it was.
    Raises BadFrame for a faulty row, BadInput for fewer than 99 draws.
    """
    if draws < 99:
        raise BadInput(f"{draws} draws say nothing of chances of 1 in 20; ask for at least 99")
    keys = [*within, by]
    ordered = lives.sort(keys)
    rows = cut_rows(ordered, keys)
    families, names = _families(rows, within)
    tests = _tell_apart(families, chance=chance, draws=draws, seed=seed)
    return _family_frame(families, names), rows.keys.hstack(_group_frame(families, tests))


def _families(rows: Rows, within: Sequence[str]) -> tuple[list[Family], pl.DataFrame]:
    keys = rows.keys.with_row_index("_place")
    if within:
        gathered = keys.group_by(list(within), maintain_order=True).agg("_place")
    else:
        gathered = keys.select(pl.col("_place").implode())
    families = []
    for places in gathered["_place"]:
        own = rows.rows(places.cast(pl.Int64).to_numpy())
        families.append(Family(rows=own, left=list(range(own.groups))))
    return families, gathered.drop("_place")


def _tell_apart(families: list[Family], *, chance: float, draws: int, seed: int) -> int:
    """One group after another, the least likely of all families first; returns how many
    comparisons were left when none was unlikely any more.
    """
    now = _plainly_alike(families)

    def look(k: int) -> None:
        now.pop(k, None)
        stage = families[k].look(draws=draws, seed=seed)
        if stage is not None:
            now[k] = stage

    for k, family in enumerate(families):
        if k not in now and _not_comparable(family) is None:
            look(k)
    order, largest = 0, 0.0
    while True:
        tests = sum(number_of_tests(len(stage.groups)) for stage in now.values())
        best = min(now, key=lambda k: float(now[k].p_values.min()), default=None)
        if best is None or float(now[best].p_values.min()) * tests > chance:
            return tests
        order += 1
        largest = max(largest, float(now[best].p_values.min()) * tests)
        families[best].tell_apart(order, largest)
        look(best)


def _plainly_alike(families: list[Family]) -> dict[int, Stage]:
    """Among very many families those that are alike by the chances of many failures, which are
    not worth redrawing; they count among the comparisons all the same.
    """
    able = [k for k, family in enumerate(families) if _not_comparable(family) is None]
    if len(able) <= _MANY:
        return {}
    tests = sum(number_of_tests(families[k].rows.groups) for k in able)
    plain, out = min(_PLAIN, _DOUBT / tests), {}
    for k in able:
        stage = families[k].look(draws=0, seed=0)
        if stage is not None and min(float(stage.p_values.min()), stage.p_alike) >= plain:
            out[k] = stage
        else:
            families[k].stages.clear()
    return out


def number_of_tests(groups: int) -> int:
    """Comparisons in a family of so many groups: two groups make one."""
    return 1 if groups == 2 else groups


def _not_comparable(family: Family) -> str | None:
    if family.rows.groups < 2:
        return _ONE
    return _FEW if _counts(family.rows)[1].sum() < FEWEST else None


def _counts(rows: Rows) -> tuple[Floats, Floats]:
    code = np.repeat(np.arange(rows.groups), np.diff(rows.starts))
    failed = rows.count * ~np.isnan(rows.high)
    return group_sum(code, rows.count, rows.groups), group_sum(code, failed, rows.groups)


def _family_frame(families: list[Family], names: pl.DataFrame) -> pl.DataFrame:
    out = [_family_row(family) for family in families]
    return with_keys(names, pl.DataFrame(out, schema=ALIKE, orient="row"))


def _family_row(family: Family) -> tuple[float | int | str | None, ...]:
    lives, failures = _counts(family.rows)
    first, rest = None, None
    if family.stages:
        first, last = family.stages[0].p_alike, family.stages[-1]
        rest = last.p_alike if len(last.groups) == len(family.left) else None
    reason = _not_comparable(family) or (None if family.stages else _NO_FIT)
    return (family.rows.groups, float(lives.sum()), float(failures.sum()), first,
            len(family.apart), rest, reason)  # fmt: skip


def _group_frame(families: list[Family], tests: int) -> pl.DataFrame:
    out = []
    for family in families:
        counts = np.stack(_counts(family.rows)).T.tolist()
        out += [(*own, *_standing(family, g, own[1], tests)) for g, own in enumerate(counts)]
    return pl.DataFrame(out, schema=DEPARTING, orient="row")


def _standing(
    family: Family, group: int, failures: float, tests: int
) -> tuple[float | None, float | None, float | None, int | None]:
    """Failures expected, p-value, adjusted p-value, and as which it was told apart."""
    stage = family.last_stage(group)
    if stage is None:
        return None, None, None, None
    at = stage.groups.index(group)
    expected, p = max(failures - float(stage.excess[at]), 0.0), float(stage.p_values[at])
    if group in family.apart:
        found = family.apart[group]
        return expected, p, found.p_adjusted, found.order
    return expected, p, min(p * max(tests, 1), 1.0), None
