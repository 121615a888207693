"""Small frames for the tests of the decisions: one unit, one estimate, a region around it."""

from datetime import date
from types import SimpleNamespace

import polars as pl
import pytest

from fleet.frames import ESTIMATES, REGION, WORKING

YEAR = 365.25
AS_OF = date(2026, 7, 1)
COSTS = pl.DataFrame({"model": ["BK3"], "planned_cost": [40.0], "failure_cost": [200.0]})


def working(*units, **common):
    """Working units; a unit's fields override `common`, which override the defaults."""
    rows = []
    for number, unit in enumerate(units or ({},), start=1):
        row = {
            "unit": f"U{number}",
            "model": "BK3",
            "batch": None,
            "set_no": 1,
            "parts": "original",
            "started": date(2020, 7, 1),
            "last_known_working": date(2026, 6, 1),
            "failed_once": False,
            **common,
            **unit,
        }
        row.setdefault("oldest_started", row["started"])
        rows.append({name: row.get(name) for name in WORKING})
    return pl.DataFrame(rows, schema=WORKING)


def estimates(*fits, **common):
    """Estimates with a clear wear-out, shape 3 and scale 15 years, unless said otherwise."""
    rows = []
    for fit in fits or ({},):
        row = {
            "model": "BK3",
            "batch": None,
            "parts": "original",
            "lives": 140.0,
            "failures": 23.0,
            "exists": True,
            "reason": None,
            "shape": 3.0,
            "shape_low": 2.1,
            "shape_high": 4.0,
            "scale": 15 * YEAR,
            "oldest_age": 25 * YEAR,
            "prompt_share": 0.6,
            **common,
            **fit,
        }
        rows.append({name: row[name] for name in ESTIMATES})
    return pl.DataFrame(rows, schema=ESTIMATES)


def regions(*points, model="BK3", batch=None, parts="original"):
    """Region of one estimate from (shape, scale in years) pairs."""
    shapes, scales = zip(*points, strict=True) if points else ((), ())
    return pl.DataFrame(
        {
            "model": [model] * len(points),
            "batch": [batch] * len(points),
            "parts": [parts] * len(points),
            "shape": shapes,
            "scale": [scale * YEAR for scale in scales],
        },
        schema=REGION,
    )


AROUND = ((2.2, 16.0), (2.6, 13.5), (3.0, 17.0), (3.0, 13.2), (3.8, 14.5))


@pytest.fixture(scope="session")
def make():
    """The builders of this file, as one object."""
    return SimpleNamespace(
        working=working,
        estimates=estimates,
        regions=regions,
        around=regions(*AROUND),
        costs=COSTS,
        as_of=AS_OF,
        year=YEAR,
    )
