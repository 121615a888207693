"""Shares learned from machines measured, worked by hand."""

from datetime import date

import polars as pl
import pytest

from fleet.flow import tested_readings as learned  # its functions begin like tests


def records(measured, reports):
    """`measured`: unit, day, ESR (limit 1 ohm); `reports`: unit, day, kind, cause."""
    units = sorted({row[0] for row in measured})
    return {
        "units": pl.DataFrame({"unit": units, "model": ["M"] * len(units)}),
        "positions": pl.DataFrame(
            {
                "model": ["M"], "position": ["C1"], "record": ["p"], "esr_ohm": [0.5],
                "capacitance": [None], "voltage": [25.0], "polarity_note": [None],
            },
            schema_overrides={"capacitance": pl.String, "polarity_note": pl.String},
        ),
        "readings": pl.DataFrame(
            [
                {
                    "unit": unit, "position": "C1", "stage": stage, "esr_ohm": esr,
                    "capacitance": None, "volts_positive": None, "volts_negative": None,
                    "limit_used": None, "date_latest": day, "date_earliest": day,
                    "in_circuit": True,
                }
                for unit, day, esr, stage in measured
            ],
            schema_overrides={
                "capacitance": pl.String, "volts_positive": pl.Float64,
                "volts_negative": pl.Float64, "limit_used": pl.String,
            },
        ),
        "reports": pl.DataFrame(
            [
                {"unit": u, "date_latest": d, "date_earliest": d, "kind": k, "cause": c}
                for u, d, k, c in reports
            ],
            schema={"unit": pl.String, "date_latest": pl.Date, "date_earliest": pl.Date,
                    "kind": pl.String, "cause": pl.String},
        ),
    }  # fmt: skip


DAY = date(2020, 1, 1)


def test_nothing_measured_leaves_the_guess():
    found = learned.tested_readings(records([("A", DAY, 0.4, "after")], []), within_years=2.0)
    assert found.sensitivity == pytest.approx(learned.SENSITIVITY)
    assert found.specificity == pytest.approx(learned.SPECIFICITY)
    assert (found.measured, found.followed, found.failed) == (0, 0, 0)


def test_what_followed_by_hand():
    measured = [
        ("A", DAY, 2.0, "check"),  # bad, failed within two years
        ("B", DAY, 2.0, "check"),  # bad, recapped: nobody knows
        ("C", DAY, 0.4, "check"),  # good, seen working three years later
        ("D", DAY, 0.4, "check"),  # good, failed after four years: it lasted
        ("E", DAY, 0.4, "check"),  # good, failed of something else: nobody knows
        ("F", DAY, 0.4, "check"),  # good, failed within two years
        ("G", DAY, 0.4, "before"),  # measured at a job: does not count
    ]
    reports = [
        ("A", date(2021, 1, 1), "failed", "capacitor"),
        ("B", date(2020, 2, 1), "recapped", None),
        ("B", date(2023, 2, 1), "working", None),
        ("C", date(2023, 1, 1), "working", None),
        ("D", date(2024, 1, 1), "failed", "capacitor"),
        ("E", date(2021, 1, 1), "failed", "other"),
        ("F", date(2021, 6, 1), "failed", None),
    ]
    found = learned.tested_readings(records(measured, reports), within_years=2.0)
    assert (found.measured, found.followed, found.failed) == (6, 4, 2)
    # twenty readings of the guess: 2.8 bad and failed, 1.2 good and failed, 1.6 and 14.4 lasted
    bad, good = 2 + 4.4, 4 + 15.6
    bad_fails, good_fails = 3.8 / 5.4, 2.2 / 18.6
    fails = bad * bad_fails + good * good_fails
    lasts = bad * (1 - bad_fails) + good * (1 - good_fails)
    assert found.sensitivity == pytest.approx(bad * bad_fails / fails)
    assert found.specificity == pytest.approx(good * (1 - good_fails) / lasts)
