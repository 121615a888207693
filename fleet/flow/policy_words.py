"""Costs of rules in words."""

from typing import Any

import polars as pl

from fleet.ages import years
from fleet.flow.tested_readings import SENSITIVITY, SPECIFICITY, Tested

_LEAST = 0.02  # share of a cost below which two rules are as good as each other


def model_said(rows: pl.DataFrame) -> str:
    """One sentence on the rules of one model."""
    each = {row["policy"]: row for row in rows.iter_rows(named=True)}
    failing, best = each["run_to_failure"], each["cost"]
    unit = f" {failing['currency']}" if failing["currency"] else ""
    begin = (
        f"{rows['model'][0]}: running to failure costs {failing['cost']:.3g}{unit} a machine and "
        f"year"
    )
    if best["age"] is None:
        return f"{begin}, and no recap in advance is expected to save anything worth naming"
    parts = [
        f"{begin}; recaps at {years(best['age']):.3g} years {best['cost']:.3g} "
        f"({100 * best['saving']:.0f} % less)"
    ]
    parts.extend(filter(None, (_open(each), _risk(each), _look(each))))
    return "; ".join(parts)


def _open(each: dict[str, dict[str, Any]]) -> str | None:
    row = each.get("opportunity")
    if row is None or row["open_age"] is None or each["cost"]["age"] is None:
        return None
    return (
        f"when it is open anyway a recap pays from {years(row['open_age']):.2g} years on "
        f"({row['cost']:.3g})"
    )


def _risk(each: dict[str, dict[str, Any]]) -> str | None:
    row = each["risk"]
    if row["age"] is None:
        return "the risk limit is never reached"
    return f"the risk limit, reached at {years(row['age']):.3g} years, costs {row['cost']:.3g}"


def _look(each: dict[str, dict[str, Any]]) -> str | None:
    row, best = each.get("condition_first"), each["cost"]
    if row is None or row["age"] is None:
        return None
    more = row["cost"] / best["cost"] - 1.0
    verdict = (
        f"{100 * more:.0f} % more than recaps at the best age"
        if more > _LEAST
        else f"{-100 * more:.0f} % less than recaps at the best age"
        if more < -_LEAST
        else "about the same"
    )
    return f"measuring first, from {years(row['age']):.2g} years on, {row['cost']:.3g} ({verdict})"


def reading_said(
    tested: Tested, sensitivity: float | None, specificity: float | None, span: float
) -> str:
    """Where the two shares of a reading come from."""
    if sensitivity is not None and specificity is not None:
        return "How well readings tell was given"
    learned = (
        f"Of machines that fail within {span:g} years {100 * tested.sensitivity:.0f} in 100 are "
        f"taken to read bad, of the others {100 * tested.specificity:.0f} in 100 good"
    )
    told = (
        f"a guess ({100 * SENSITIVITY:.0f} and {100 * SPECIFICITY:.0f}, no source) worth twenty "
        f"readings"
    )
    if tested.followed:
        told += (
            f", and {tested.measured} machines measured, {tested.followed} of them followed "
            f"since, {tested.failed} of which failed"
        )
    return f"{learned}: {told}"
