"""The look back in sentences, for somebody who keeps machines going."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

import polars as pl

from fleet.flow.backtest_cases import Looked
from fleet.flow.backtest_days import last_day
from fleet.flow.backtest_known import Past
from fleet.flow.backtest_score import Scored
from fleet.flow.read_aloud import number

_LATE = 365.0  # days between a report and its entry, from which the way out is named
_FEW = 5.0  # failures below which nothing is concluded; our choice
_OF_OWN_DATE = "--as-dated counts every record as entered on its own date"


def no_days_words(
    past: Past, working: pl.DataFrame, *, as_of: date, horizon_years: float, as_dated: bool
) -> tuple[str, ...]:
    """Why there is no past day to look back on, and what would help."""
    if past.first is None or past.last is None:
        return (
            "There is nothing to look back on: the store has no report yet. Log what works and "
            "what fails, with the day.",
        )
    years = number(horizon_years)
    needs = last_day(past, working, as_of=as_of, horizon_years=horizon_years)
    said = (
        f"There is too little history: a past day needs {years} years of records after it, so "
        f"the last one is {needs}, and the first report was entered on {past.first}. Look less "
        "far ahead (--horizon-years), or wait."
    )
    if not as_dated and past.late is not None and past.late > _LATE:
        return (said, f"Most reports were entered long after their own date: {_OF_OWN_DATE}.")
    return (said,)


def answer_words(
    scored: Scored, looked: Sequence[Looked], *, level: float = 0.90
) -> tuple[str, ...]:
    """The answer in sentences, or why there is none. `level` is that of the limits of numbers."""
    if scored.together.is_empty():
        return (_no_chances(looked),)
    row = scored.together.row(0, named=True)
    said = (
        came_true(row), paid(row), closer(row), _by_size(scored.bins),
        numbers_held(scored.days, level=level), _what(row, scored, looked),
    )  # fmt: skip
    return tuple(one for one in said if one)


def rests_on_words(
    scored: Scored, looked: Sequence[Looked], past: Past, as_dated: bool
) -> tuple[str, ...]:
    """What the answer rests on, and what weakens it."""
    if scored.together.is_empty():
        return _late(past, as_dated)
    row = scored.together.row(0, named=True)
    said = (_seen(row, looked), _aside(looked), _flag(row, as_dated), *_late(past, as_dated))
    return tuple(one for one in said if one)


def came_true(row: Mapping[str, Any]) -> str:
    """Whether as many failed as was said."""
    if row["happened"] is None:
        return "No machine was followed to the end of the years looked at, so nothing can be said."
    years = _years(row["horizon_years"])
    said, was = _of_100(row["predicted"]), _of_100(row["happened"])
    low, high = _of_100(row["happened_low"]), _of_100(row["happened_high"])
    text = (
        f"Of 100 machines {said} were expected to fail by their capacitors within {years}; "
        f"{was} did (between {low} and {high}, allowing for luck)"
    )
    if row["failures"] < _FEW:
        return f"{text}: too few failures to judge by."
    if row["predicted"] < row["happened_low"]:
        return f"{text}: more failed than was said, so the chances were too low."
    if row["predicted"] > row["happened_high"]:
        return f"{text}: fewer failed than was said, so the chances were too high."
    return f"{text}: taken together, the chances came true."


def came_true_words() -> pl.Expr:
    """The same of each row of a table of scores, in a word or two."""
    return (
        pl.when(pl.col("happened").is_null())
        .then(pl.lit("not followed"))
        .when(pl.col("failures") < _FEW)
        .then(pl.lit("too few failures"))
        .when(pl.col("predicted") < pl.col("happened_low"))
        .then(pl.lit("more failed"))
        .when(pl.col("predicted") > pl.col("happened_high"))
        .then(pl.lit("fewer failed"))
        .otherwise(pl.lit("as was said"))
    )


def _by_size(bins: pl.DataFrame) -> str:
    """Whether chances of every size came true, where there are several sizes."""
    known = bins.drop_nulls(["predicted", "happened"])
    if known.height < 3:
        return ""
    gap = (pl.col("predicted") - pl.col("happened")).abs()
    held = pl.col("predicted").is_between("happened_low", "happened_high")
    off = known.filter(~held).sort(gap, descending=True)
    if off.is_empty():
        return f"That holds for chances of every size ({known.height} groups of like chance)."
    worst = off.row(0, named=True)
    return (
        f"By size of chance, {known.height - off.height} of {known.height} groups are within luck "
        f"of what was said; the farthest off were told {_of_100(worst['predicted'])} of 100, and "
        f"{_of_100(worst['happened'])} failed."
    )


def numbers_held(days: pl.DataFrame, *, level: float) -> str:
    """Whether as many failed as the limits of their number let one expect, day by day."""
    told = days.drop_nulls(["expected", "held"])
    if told.is_empty():
        return ""
    held, last = int(told["held"].sum()), told.row(-1, named=True)
    low, high = last["expected_low"], last["expected_high"]
    return (
        f"Counting each machine for as long as it was followed, the number that failed lay within "
        f"the {100 * level:.4g} % limits of the number expected on {held} of {told.height} past "
        f"{'day' if told.height == 1 else 'days'}; on the last, {last['as_of']}, "
        f"{number(last['expected'])} were expected ({low:.0f} to {high:.0f}), and "
        f"{number(last['failures'])} failed."
    )


def closer(row: Mapping[str, Any]) -> str:
    """Whether the chances came closer than plain counting."""
    if row["brier"] is None:
        return ""
    scores = (
        f"a score of {row['brier']:.3f} against {row['brier_reference']:.3f}, where 0 is perfect "
        "and saying 1 in 2 of every machine scores 0.25"
    )
    low, high = row["gain_low"], row["gain_high"]
    if low is not None and low > 0:
        return f"They told which machines fail better than counting failures per year: {scores}."
    if high is not None and high < 0:
        return f"They did worse than counting failures per year: {scores}."
    return (
        "Whether they told which machines fail better than counting failures per year cannot be "
        f"told from luck: {scores}."
    )


def paid(row: Mapping[str, Any]) -> str:
    """What following every date would have cost."""
    if row["cost"] is None:
        return (
            "What following the dates would have cost cannot be added up: give planned_cost and "
            "failure_cost of the models in one currency, or look model by model (--by model)."
        )
    money = f" {row['currency']}" if row["currency"] else ""
    cost, failing, fixed = (
        _amount(row[c]) for c in ("cost", "cost_run_to_failure", "cost_fixed_age")
    )
    text = (
        f"Had every date been kept, a machine would have cost {cost}{money} a year; never "
        f"replacing in advance {failing}, replacing at {number(row['fixed_age_years'])} years "
        f"{fixed}"
    )
    never = _better(row, "saved_on_run_to_failure", "never replacing in advance")
    plain = _better(row, "saved_on_fixed_age", "the fixed age")
    return f"{text}. The advice would have {never}, and {plain}."


def _better(row: Mapping[str, Any], saved: str, other: str) -> str:
    """How advice did beside another rule, as far as luck lets one tell."""
    low, high = row[f"{saved}_low"], row[f"{saved}_high"]
    if low is not None and low > 0:
        return f"done better than {other}"
    if high is not None and high < 0:
        return f"done worse than {other}"
    return f"done no differently from {other} that could be told from luck"


def _what(row: Mapping[str, Any], scored: Scored, looked: Sequence[Looked]) -> str:
    judged = set(scored.days["as_of"])
    used = [one for one in looked if one.as_of in judged]
    cases = sum(one.cases["unit"].n_unique() for one in used)
    days = (
        f"{used[0].as_of}"
        if len(used) == 1
        else f"{len(used)} past days from {used[0].as_of} to {used[-1].as_of}"
    )
    silent = len(looked) - len(used)
    more = (
        f" On {silent} more {'day' if silent == 1 else 'days'} too little was known for a chance, "
        "or too few machines were followed to the end."
        if silent
        else ""
    )
    return (
        f"Looked back on {days}, {_years(row['horizon_years'])} ahead of each: {cases:,} chances "
        f"of {row['units']:,} machines.{more}"
    )


def _seen(row: Mapping[str, Any], looked: Sequence[Looked]) -> str:
    lost = sum(one.not_heard for one in looked)
    if not lost:
        return ""
    least, most = _of_100(row["happened_least"]), _of_100(row["happened_most"])
    return (
        f"{lost:,} of these chances are of machines not followed to the end: recapped in advance, "
        "gone, or not heard of. Others of like chance count for them; if none of them had failed "
        f"it would be {least} of 100, if all had, {most}."
    )


def _aside(looked: Sequence[Looked]) -> str:
    counts = {
        "had no estimate yet": sum(one.without_chance for one in looked),
        "had failed already without anybody knowing": sum(one.failed_before for one in looked),
        "had failed once and ran on, or have records that disagree": sum(
            one.set_aside for one in looked
        ),
    }
    said = [f"{count:,} {what}" for what, count in counts.items() if count]
    return f"Not counted, machine by machine and day by day: {'; '.join(said)}." if said else ""


def _flag(row: Mapping[str, Any], as_dated: bool) -> str:
    if not row["flagged"]:
        return ""
    if as_dated:
        return (
            "Every record counts as entered on its own date: what was in truth entered late, or "
            "corrected later, counts too early."
        )
    share = _percent(row["reconstructed_share"])
    return (
        f"Up to {share} of the records of a past day have no day of entry of their own and count "
        "as entered on the day they speak of (or when their machine was enrolled): what was in "
        "truth entered later counts too early."
    )


def _late(past: Past, as_dated: bool) -> tuple[str, ...]:
    if as_dated or past.late is None or past.late <= _LATE:
        return ()
    return (
        f"Half of the reports with a day of entry were entered {number(past.late)} days or more "
        f"after their own date, so little was known on past days: {_OF_OWN_DATE}.",
    )


def _no_chances(looked: Sequence[Looked]) -> str:
    working = sum(one.working for one in looked)
    if not working:
        return (
            f"On none of the {len(looked)} past days from {looked[0].as_of} to {looked[-1].as_of} "
            "was any machine known to work."
        )
    return (
        f"On none of the {len(looked)} past days from {looked[0].as_of} to {looked[-1].as_of} "
        "was enough known for a chance: too few failures of any model had been reported by then."
    )


def _of_100(share: float | None) -> str:
    if share is None:
        return "unknown"
    value = 100.0 * share
    return f"{value:.0f}" if value >= 9.95 else f"{value:.1f}".removesuffix(".0")


def _percent(share: float | None) -> str:
    return "unknown" if share is None else f"{max(1.0, 100.0 * share):.0f} %"


def _years(value: float) -> str:
    return "1 year" if value == 1.0 else f"{number(value)} years"


def _amount(value: float) -> str:
    return number(value) if value >= 0 else f"-{number(-value)}"
