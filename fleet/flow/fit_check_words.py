"""Whether a distribution fits, in sentences for somebody who repairs machines."""

from collections.abc import Mapping, Sequence
from typing import Any

from fleet.flow.read_aloud import number

Row = Mapping[str, Any]

_FEWEST = 5.0  # failures below which nothing can be told
_FEWEST_FOR_SHARE = 10.0  # and below which no share that can fail is spoken of
# Gaps in AIC: odds of 2.7 and 20 to 1. In drawn Weibull fleets of 13 failures the Weibull came out
# ahead of the lognormal in 58 of 100 and the lognormal ahead by 2 in 10; of 31 failures in 71 and
# 9, while a gap of 6 the wrong way came in none and in 2. Under 20 failures only a gap of 6 counts.
_FEW = 20.0
_SOME, _CLEAR = 2.0, 6.0
_DOUBT = 0.05
_CLAIM = 0.01  # a share that can fail is claimed only when chance does as much this rarely
_NAMES = {
    "weibull": "the Weibull",
    "lognormal": "the lognormal",
    "exponential": "a constant failure rate",
    "limited_failure": "a batch of which only a share can fail",
    "two_causes": "a pair of causes, one early and one late",
    "two_kinds": "a mix of two kinds of sets",
}


def check_words(rows: Sequence[Row], *, unit: str = "years") -> str:
    """What the rows of one group (flow.fit_check.check_fit) come to."""
    by_name = {row["distribution"]: row for row in rows}
    weibull = by_name["weibull"]
    failures = weibull["failures"]
    if failures < _FEWEST - 1e-9:
        return (
            f"{number(failures)} failures are too few to tell whether lives follow a Weibull or "
            "anything else; take every age read off the fit as a rough guess."
        )
    parts = [_departure(weibull, unit), _share(by_name, unit), _best(by_name, unit)]
    return " ".join(part for part in parts if part)


def fleets_words(chance: float) -> str:
    """A chance as so many of 100 fleets."""
    if chance < 0.01:
        return "in fewer than 1 of 100 such fleets"
    return f"in about {max(1, round(100 * chance))} of 100 such fleets"


def _departure(weibull: Row, unit: str) -> str:
    chance = weibull["p_value"]
    if chance is None:
        why = weibull["reason"] or "there is no fit"
        return f"Whether a Weibull fits cannot be told: {why}."
    often = (
        "if lives really followed a Weibull, a departure this large would be seen "
        f"{fleets_words(chance)}"
    )
    if chance > _DOUBT:
        few = " With so few failures only a gross departure could show."
        return f"Nothing speaks against the Weibull: {often}." + (
            few if weibull["failures"] < _FEW else ""
        )
    excess = weibull["excess"]
    side = "more" if excess > 0 else "fewer"
    return (
        f"The Weibull does not fit well: {often}. By age {number(weibull['at_age'])} {unit} "
        f"{number(abs(excess))} {side} had failed than it expects; do not read it beyond the ages "
        "seen."
    )


def _share(by_name: Mapping[str, Row], unit: str) -> str:
    row = by_name.get("limited_failure")
    if row is None or row["p_value"] is None or row["failures"] < _FEWEST_FOR_SHARE:
        return ""
    if not claims_share(row):
        hint = "There is a hint that only a share of them can fail, too weak to build on."
        return hint if row["p_value"] <= _DOUBT else ""
    rival = by_name.get("lognormal")
    if rival is not None and _as_good(rival, row):
        return (
            "The failures come more slowly than a Weibull allows: either only about "
            f"{number(100 * row['share_that_can_fail'])} % of them can fail at all, or all can and "
            "the rest last much longer (a lognormal life); these lives do not tell which."
        )
    low, high = 100 * row["share_low"], 100 * row["share_high"]
    text = (
        f"It looks as if only about {number(100 * row['share_that_can_fail'])} % of them "
        f"({number(low)} to {number(high)} %) can fail at all; if all could, the failures would "
        f"stop coming like this {fleets_words(row['p_value'])}."
    )
    b10 = row["b10"]
    ten = (
        "one in ten will never have failed"
        if b10 is None
        else f"one in ten has failed by {number(b10)} {unit}"
    )
    plain = by_name["weibull"]["b10"]
    if plain is None:
        return text + f" Then {ten}."
    return text + f" Then {ten}; the Weibull says by {number(plain)} {unit}."


def claims_share(row: Row) -> bool:
    """Whether a share that can fail is more than noise: enough failures, and all ruled out."""
    return bool(
        row["exists"]
        and row["failures"] >= _FEWEST_FOR_SHARE
        and row["p_value"] is not None
        and row["p_value"] <= _CLAIM
        and row["share_high"] < 1.0
    )


def _as_good(rival: Row, row: Row) -> bool:
    """Whether another distribution without such a share does about as well."""
    if not rival["exists"] or rival["aic_few"] is None or row["aic_few"] is None:
        return False
    return bool(rival["aic_few"] - row["aic_few"] < _near(row))


def _near(row: Row) -> float:
    """The gap in AIC below which two distributions are not told apart."""
    return _CLEAR if row["failures"] < _FEW else _SOME


def _best(by_name: Mapping[str, Row], unit: str) -> str:
    # a constant rate is a Weibull too: where that does not fit, it is no way out
    doubted = by_name["weibull"]["p_value"] is not None and by_name["weibull"]["p_value"] <= _DOUBT
    rows = [
        row
        for name, row in by_name.items()
        if row["exists"]
        and not (doubted and name == "exponential")
        and row["aic_few"] is not None
        and (name != "limited_failure" or claims_share(row))
    ]
    if len(rows) < 2:
        return "No second distribution can be fitted to compare with."
    rows = sorted(rows, key=lambda row: float(row["aic_few"]))
    best, second = rows[0], rows[1]
    few, near = best["failures"] < _FEW, _near(best)
    close = [row for row in rows[1:] if row["aic_few"] - best["aic_few"] < near]
    if close:
        every = [best, *close]
        names = _listed([_NAMES[row["distribution"]] for row in every])
        start = "There are too few failures to tell apart" if few else "About equally good are"
        return f"{start} {names}: one in ten has failed by {_ages(every, unit)}."
    gap = second["aic_few"] - best["aic_few"]
    clearly = "clearly" if gap >= _CLEAR else "somewhat"
    odds = "more than 1,000" if gap > 13.8 else number(round(2.718281828 ** (gap / 2.0)))
    start = _NAMES[best["distribution"]]
    return (
        f"{start[0].upper()}{start[1:]} describes them {clearly} better than "
        f"{_NAMES[second['distribution']]} (odds of about {odds} to 1): one in ten has failed by "
        f"{_ages([best, second], unit)}."
    )


def _ages(rows: Sequence[Row], unit: str) -> str:
    """B10 under each, the shortest words that keep them apart."""
    told = [
        f"{number(row['b10'])} ({_NAMES[row['distribution']]})"
        if row["b10"] is not None
        else f"no age at all ({_NAMES[row['distribution']]})"
        for row in rows
    ]
    return f"{_listed(told, 'or')} {unit}"


def _listed(words: Sequence[str], joint: str = "and") -> str:
    if len(words) == 1:
        return words[0]
    return f"{', '.join(words[:-1])} {joint} {words[-1]}"
