"""Answers in sentences a person would say: no inf, no nan, chances as so many in ten."""

import math
from collections.abc import Mapping, Sequence
from typing import Any

import polars as pl

_TRIFLE = 1e-6  # of a life, left by sharing out
_FEW = 5  # failures; below this profile limits themselves are rough. Our own rule


def group_name(row: Mapping[str, Any], groups: Sequence[str], *, all_of_them: str) -> str:
    """The values that make a group, in words; `all_of_them` where nothing does."""
    values = ["unknown" if row[column] is None else str(row[column]) for column in groups]
    return " ".join(values) or all_of_them


def chance_words(chance: float | None) -> str:
    """A probability as spoken: "3 in 10", "1 in 50", "less than 1 in 1,000", "unknown"."""
    if chance is None:
        return "unknown"
    if chance < 0.001:
        return "less than 1 in 1,000"
    if chance > 0.995:
        return "almost certain"
    if chance < 0.15:
        return f"1 in {_round_two(1 / chance):,}"
    if chance > 0.95:
        return f"{round(chance * 100)} in 100"
    return f"{min(9, max(1, round(chance * 10)))} in 10"


def _of_those(points: pl.DataFrame) -> str:
    begins = points["age"].item(0)
    return f"of those that reached age {number(begins)}, " if begins else ""


def median_words(points: pl.DataFrame, *, unit: str = "years") -> str:
    """The median life read off one group's curve (frames.CURVE), or that it is not reached.

    Only points with enough lives at risk count; the limits are those ages at which the limit
    curves cross one half.
    """
    drawn = points.filter("supported")
    if drawn.is_empty():
        return "too few lives to draw a curve"
    if points["survival"].min() == 1.0:
        oldest = number(points["age"].item(-1))
        return f"{_of_those(points)}none has failed yet; the oldest was watched to {oldest} {unit}"
    crossed = drawn.filter(pl.col("survival") <= 0.5)
    if crossed.is_empty():
        last = drawn.row(-1, named=True)
        return (
            f"{_of_those(points)}the age by which half have failed is not reached: "
            f"{round(100 * last['survival'])} of 100 still work at {number(last['age'])} {unit}, "
            "and beyond that too few were watched"
        )
    low = drawn.filter(pl.col("survival_low") <= 0.5)["age"]
    high = drawn.filter(pl.col("survival_high") <= 0.5)["age"]
    from_age = number(low[0]) if len(low) else "unknown"
    to_age = f"{number(high[0])} {unit}" if len(high) else "no upper limit yet"
    half = f"half have failed by {number(crossed['age'][0])} {unit}"
    return f"{_of_those(points)}{half} (between {from_age} and {to_age})"


def fit_words(fit: Mapping[str, Any], *, unit: str = "years") -> str:
    """One Weibull fit (a row of frames.FIT as a mapping) in a sentence or two."""
    failures, lives = count_words(fit["failures"]), count_words(fit["lives"])
    among = "life" if fit["lives"] == 1 else "lives"
    counted = f"{failures} failure{'' if fit['failures'] == 1 else 's'} among {lives} {among}"
    if not fit["exists"]:
        return f"{counted}: {fit['reason']}."
    low, high = fit["shape_low"], fit["shape_high"]
    few = fit["failures"] < _FEW
    if few:
        ageing = "too few to say whether they wear out"
        if low is not None and low > 1:
            ageing += ", though those few came late"
    elif low is not None and low > 1:
        ageing = "they wear out: the older, the likelier to fail"
    elif high is not None and high < 1:
        ageing = "they fail early rather than from age"
    else:
        ageing = "it is open whether age matters: no basis for acting on age alone"
    rough = " With so few failures the limits are too narrow." if fit["failures"] < 10 else ""
    return (
        f"{counted}; {ageing} "
        f"(shape {number(fit['shape'])}, {_between(low, high)}). By the fitted Weibull curve one "
        f"in ten has failed by {number(fit['b10'])} {unit} "
        f"({_between(fit['b10_low'], fit['b10_high'])}).{rough}"
    )


def count_words(count: float) -> str:
    """A count of lives or failures: "45", "about 45" where some count in part.

    A failure of unknown cause counts in part, and in part as none.
    """
    whole = round(count)
    if abs(count - whole) < _TRIFLE:
        return f"{whole:,}"
    return f"about {whole:,}" if whole else "less than half a"


def number(value: float | None) -> str:
    """A number with three significant figures, thousands separated; "unknown" for none.

    Numbers no one would write out are said as less than 0.001 or more than a thousand million.
    """
    if value is None or not math.isfinite(value):
        return "unknown"
    if value == 0:
        return "0"
    if abs(value) < 0.001:
        return "less than 0.001"
    if abs(value) >= 1e9:
        return "more than a thousand million"
    places = max(0, 2 - math.floor(math.log10(abs(value))))
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _between(low: float | None, high: float | None) -> str:
    if low is None and high is None:
        return "no limits"
    if high is None:
        return f"at least {number(low)}, no upper limit"
    if low is None:
        return f"at most {number(high)}, no lower limit"
    return f"{number(low)} to {number(high)}"


def _round_two(value: float) -> int:
    """A whole number rounded to two significant figures, as one would say it."""
    step = 10 ** max(0, math.floor(math.log10(value)) - 1)
    return int(round(value / step) * step)
