"""Whether groups of lives differ, by how much, and what that means for a repairer."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import polars as pl

from fleet.errors import BadInput
from fleet.flow.answers import choose_parts, grouping
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.read_aloud import chance_words, number
from fleet.flow.table import Settings, Table

UNLIKELY = 0.05  # a difference chance makes less often than this is called one; common practice
_RATIOS_SAID = 6
ROUGH = "few failures in a group: p_value is rough"  # how fits.compare ends such a note
_TESTS = {
    "log-rank": "By when they fail (log-rank)",
    "likelihood-ratio": "By their Weibull fits (likelihood ratio)",
}


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Differences:
    """Tests of equal lives, ratios of lives, and both in words.

    `tests`: test, statistic, degrees_of_freedom, p_value, p_permuted, note. `ratios`: the group
    columns, lives, failures, ratio, ratio_low, ratio_high, the first row being the group the
    others are measured by.
    """

    tests: pl.DataFrame
    ratios: pl.DataFrame
    notes: tuple[str, ...]
    words: tuple[str, ...]


def differences(
    table: Table, *, by: Sequence[str], level: float = 0.95, settings: Settings | None = None
) -> Differences:
    """Compare the groups `by`. Raises BadInput without a column to group by."""
    from fleet.fits.compare import compare
    from fleet.fits.groups.life_ratios import life_ratios

    groups = grouping(table, by)
    if not groups:
        raise BadInput("nothing to compare: say which column makes the groups, like --by batch")
    chosen, notes = choose_parts(table, groups, settings)
    chosen, apart = set_apart(chosen, table, groups)
    tests = compare(chosen, by=groups)
    ratios = life_ratios(chosen, by=groups, level=level, nameless="unknown")
    return Differences(
        tests=tests,
        ratios=ratios,
        notes=(*notes, *what_failures_alone_tell(apart, groups)),
        words=difference_words(tests, ratios, groups),
    )


def difference_words(
    tests: pl.DataFrame, ratios: pl.DataFrame, groups: Sequence[str]
) -> tuple[str, ...]:
    """A sentence for each test and for each ratio worth saying."""
    rows = {row["test"]: row for row in tests.iter_rows(named=True)}
    names = dict(_TESTS)
    if judged(rows["likelihood-ratio"]) is None:
        names["equal-scale"] = "By their lives, taking them to age alike (equal scale)"
    said = [_test_words(rows[name], words) for name, words in names.items()]
    whole = judged(rows["likelihood-ratio"])
    some = whole is None or whole < UNLIKELY
    shape = judged(rows["equal-shape"])
    if shape is not None and shape < UNLIKELY:
        return (*said, *_shape_words(rows["equal-shape"]))
    return (*said, *_shape_words(rows["equal-shape"]), *_ratio_words(ratios, groups, some=some))


def judged(test: Mapping[str, Any]) -> float | None:
    """The chance to go by: of the permutations where there is one."""
    p = test["p_value"] if test["p_permuted"] is None else test["p_permuted"]
    return None if p is None else float(p)


def _test_words(test: Mapping[str, Any], words: str) -> str:
    p, note = judged(test), test["note"]
    if p is None:
        return f"{words}: cannot be tested, because {note}"
    rough = note is not None and note.endswith(ROUGH) and test["p_permuted"] is None
    # measured for the log-rank (METHODS: permutation); the others say that they are rough
    if rough and test["test"] == "log-rank":
        return (
            f"{words}: no verdict, because with so few failures in a group this test finds "
            f"differences too readily (p_value {chance_words(p)}); {note}"
        )
    more = "more" if p < UNLIKELY else "no more"
    chance = f"chance of as much without a difference: {chance_words(p)}"
    said = f"{words}: the groups differ {more} than chance would explain ({chance})"
    return said if note is None else f"{said}; {note}"


def _shape_words(test: Mapping[str, Any]) -> tuple[str, ...]:
    p = judged(test)
    if p is None:
        return ()
    if p < UNLIKELY:
        return (
            "They age differently: their failures are spread over age in different ways "
            f"(chance of as much without a difference: {chance_words(p)}), so no one ratio of "
            "lives holds at every age: compare the ages by which one in ten and by which half "
            "have failed",
        )
    return (
        "Nothing says that they age differently, so one ratio of lives may stand for every age",
    )


def _ratio_words(ratios: pl.DataFrame, groups: Sequence[str], *, some: bool) -> list[str]:
    if ratios.height < 2:
        return []
    if not some and ratios.height > 3:
        return ["Of so many ratios of life some look large by chance: none is told apart here"]
    rows = list(ratios.iter_rows(named=True))
    name = {i: " ".join(_text(row[c]) for c in groups) for i, row in enumerate(rows)}
    told = [
        (i, row)
        for i, row in enumerate(rows)
        if i and (row["ratio"] is not None or _clear(row["ratio_low"], row["ratio_high"]))
    ]
    clear = [(i, r) for i, r in told if _clear(r["ratio_low"], r["ratio_high"])]
    chosen = told if len(told) <= _RATIOS_SAID else clear[:_RATIOS_SAID]
    said = [f"{name[i]} lasts {times_words(row, name[0])}" for i, row in chosen]
    if not some and clear:
        said[-1] += "; but the tests above do not bear a difference out: do not rely on it"
    more = len(clear) - len(chosen)
    if more > 0:
        said.append(f"{more} more groups last clearly longer or shorter than {name[0]}")
    return said


def times_words(row: Mapping[str, Any], other: str) -> str:
    """As in "0.6 times as long as Y (0.4 to 0.8)", also where a side or the estimate is missing."""
    low, high, ratio = row["ratio_low"], row["ratio_high"], row["ratio"]
    if ratio is None:
        side = f"at least {number(low)}" if low is not None else f"at most {number(high)}"
        why = " (it has no failure to go by)" if not row["failures"] else ""
        return f"{side} times as long as {other}{why}"
    said = f"{number(ratio)} times as long as {other} ({range_words(low, high)})"
    return said if _clear(low, high) else f"{said}: it may last as long"


def range_words(low: float | None, high: float | None) -> str:
    """Limits as spoken: "0.4 to 0.8", "at least 2", "no limits"."""
    if low is None and high is None:
        return "no limits"
    if high is None:
        return f"at least {number(low)}"
    return f"at most {number(high)}" if low is None else f"{number(low)} to {number(high)}"


def _clear(low: float | None, high: float | None) -> bool:
    return (low is not None and low > 1.0) or (high is not None and high < 1.0)


def _text(value: object) -> str:
    return "unknown" if value is None else str(value)
