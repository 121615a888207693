"""How recaps turned out, in sentences."""

from collections.abc import Mapping
from typing import Any

import polars as pl

from fleet.flow.read_aloud import chance_words, number

LUCK = 0.05  # chance below which early failures are more than luck; common practice
_FEW = 5  # jobs of known outcome; below, mostly the others speak


def words_of(row: Mapping[str, Any], early_months: float, level: float) -> tuple[str, ...]:
    """One model's outcomes (a row of flow.outcomes' frame)."""
    said = [_next(row, level), _how_many(row, early_months)]
    if row["early_failed"]:
        said.append(early_words(row, early_months))
    if row["after_fails"]:
        said.append(
            f"{_jobs(row['after_fails'])} left a part that read bad afterwards: measure it again, "
            "out of the circuit if need be."
        )
    return tuple(said)


def _how_many(row: Mapping[str, Any], months: float) -> str:
    unknown = f"; of {row['unknown']} nobody has said" if row["unknown"] else ""
    if not row["jobs"]:
        return f"Of {_jobs(row['recaps'])} the outcome is not known yet."
    bad = []
    if row["not_cured"]:
        bad.append(f"{row['not_cured']} did not cure")
    if early := row["jobs"] - row["cured"] - row["not_cured"]:
        bad.append(f"{early} worked and failed again within {number(months)} months")
    rest = f" ({', '.join(bad)})" if bad else ""
    return f"{row['cured']} of {_jobs(row['jobs'])} of known outcome succeeded{rest}{unknown}."


def _next(row: Mapping[str, Any], level: float) -> str:
    leaning = (
        " With so few of its own it leans on other models and on what was held before any job."
        if row["jobs"] < _FEW
        else ""
    )
    low, high = row["success_low"], row["success_high"]
    limits = f"{_of_100(low)} to {_of_100(high)} by the {100 * level:.4g} % limits"
    return f"The next recap succeeds in about {_of_100(row['success'])} in 100 ({limits}).{leaning}"


def early_words(row: Mapping[str, Any], months: float) -> str:
    """Whether failures soon after the job are the job's doing or luck."""
    failed, watched = row["early_failed"], row["early_watched"]
    counted = (
        f"Of {_jobs(watched)} of all positions {failed} failed again within {number(months)} months"
    )
    expected, chance = row["early_expected"], row["early_chance"]
    if expected is None or chance is None:
        return f"{counted}; how many do so without harm by the job is not known."
    about = f"about {expected:.1g}" if expected >= 0.05 else "less than 0.1"
    luck = f"{about} would fail so soon anyway, through no fault of the job"
    if chance < LUCK:
        return (
            f"{counted}; {luck}, and luck alone brings as many with a chance of "
            f"{chance_words(chance)}: look at the job (orientation, joints, traces on both sides, "
            "connectors) and at the parts fitted."
        )
    return f"{counted}; {luck}, so that it may be luck."


def notes_of(jobs: pl.DataFrame, early_months: float) -> tuple[str, ...]:
    """What must be said with any of the tables."""
    history = jobs.filter("history").height
    open_ = jobs.filter(pl.col("counted") & pl.col("succeeded").is_null()).height
    silent = jobs.filter(pl.col("counted") & (pl.col("after") == "none")).height
    lines = [
        f"a recap succeeded when the machine worked afterwards and did not fail again within "
        f"{number(early_months)} months (after a recap of some positions: at those)",
    ]
    if open_:
        lines.append(
            f"of {_jobs(open_)} nobody has said whether it cured; say so with fleet amend ID "
            "--set cured=yes"
        )
    if history:
        lines.append(
            f"{_jobs(history)} from before the machine was known: not counted, as only what "
            "outlived it is seen"
        )
    if silent:
        lines.append(f"{_jobs(silent)} without a reading afterwards")
    return tuple(lines)


def _jobs(count: int) -> str:
    return "1 recap" if count == 1 else f"{count:,} recaps"


def _of_100(chance: float) -> str:
    """So many of 100, as the table has it; never a certain 0 or 100."""
    return f"{min(99, max(1, round(100 * chance)))}"
