"""Small frames that keep the contracts, for the chart tests."""

from datetime import date

import polars as pl
import pytest

from fleet.frames import CURVE, DUE


def curve_rows(group, ages, survivals, supported, limits=0.1):
    return pl.DataFrame(
        {
            "model": [group] * len(ages),
            "age": [float(a) for a in ages],
            "at_risk": [float(20 - i) for i in range(len(ages))],
            "failures": [1.0] * len(ages),
            "survival": survivals,
            "survival_low": [max(s - limits, 0.0) for s in survivals],
            "survival_high": [min(s + limits, 1.0) for s in survivals],
            "cumulative_hazard": [1.0 - s for s in survivals],
            "supported": supported,
        },
        schema={"model": pl.String, **CURVE},
    )


@pytest.fixture
def two_curves():
    a = curve_rows("KB-1", [5, 8, 11, 15], [0.9, 0.7, 0.5, 0.25], [True, True, True, False])
    b = curve_rows("KB-2", [6, 9, 12], [0.95, 0.8, 0.7], [True, True, True])
    return pl.concat([a, b])


@pytest.fixture
def rates():
    ages = [0.0, 4.0, 8.0, 12.0, 16.0]
    hazard = [0.0, 0.01, 0.04, 0.09, 0.16]
    return pl.DataFrame(
        {
            "model": ["KB-1"] * 5,
            "age": ages,
            "hazard": hazard,
            "hazard_low": [h / 2 for h in hazard],
            "hazard_high": [h * 2 for h in hazard[:4]] + [None],
            "supported": [True, True, True, True, False],
        }
    )


@pytest.fixture
def due():
    dates = [date(2026, 1, 5), date(2026, 2, 9), date(2026, 3, 31), date(2026, 10, 1), None]
    actions = ["recap_now", "recap_now", "measure", "recap_when_due", "leave"]
    rows = {
        "unit": [f"U{i}" for i in range(5)],
        "model": ["KB-1"] * 5,
        "due_on": dates,
        "action": actions,
        "reason": ["because"] * 5,
        "supported": [True] * 5,
    }
    return pl.DataFrame(rows, schema_overrides={"due_on": pl.Date}).select(
        pl.col(c).cast(t) if c in rows else pl.lit(None, t).alias(c) for c, t in DUE.items()
    )
