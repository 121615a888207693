"""From a life table to what the posterior reads: silence, causes, facts of units. By hand."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from fleet.flow.posterior import check_in_gaps, evidence_for, posterior_of, prompt_shares
from fleet.flow.table import Table
from fleet.frames import EVIDENCE, LIVES, WORKING, check_frame, known_schema

AS_OF = date(2026, 7, 1)
BORN = AS_OF - timedelta(days=4000)


def _lives(*rows):
    usual = {
        "entry": 0.0, "low": 1000.0, "high": None, "known_by": None, "count": 1.0, "model": "BK3",
        "batch": "K1", "set_no": 1, "parts": "original", "source": "club", "end": "working",
        "noticed": None, "enrolled_because": "working",
    }  # fmt: skip
    full = [{"unit": f"U{n}", **usual, **row} for n, row in enumerate(rows, start=1)]
    return pl.DataFrame([{c: row.get(c) for c in LIVES} for row in full], schema=LIVES)


def _records(units=(), reports=(), models=({"model": "BK3", "kind": "amplifier"},)):
    def frame(kind, rows):
        schema = known_schema(kind)
        return pl.DataFrame([{c: row.get(c) for c in schema} for row in rows], schema=schema)

    return {
        "units": frame("units", [{"model": "BK3", **unit} for unit in units]),
        "reports": frame("reports", reports),
        "models": frame("models", models),
    }


def _table(lives, *, capacitor=8.0, other=2.0, open_sources=()):
    working = lives.filter((pl.col("end") == "working") & pl.col("high").is_null())
    started = working.select("unit", "model", "set_no", "parts", started=pl.lit(BORN))
    missing = [
        pl.lit(None).cast(t).alias(c) for c, t in WORKING.items() if c not in started.columns
    ]
    shares = pl.DataFrame({"model": ["BK3"], "capacitor": [capacitor], "other": [other]})
    return Table(
        lives=lives,
        working=started.with_columns(missing).select(WORKING.names()).cast(WORKING),
        shares=shares,
        open_sources=frozenset(open_sources),
        from_store=True,
        age_unit="days",
    )


def _evidence(lives, records=None, **table):
    frame = evidence_for(_table(lives, **table), records or _records(), as_of=AS_OF)
    check_frame(frame, EVIDENCE, name="evidence")
    return frame


def _seen(unit, *days_ago):
    days = [AS_OF - timedelta(days=d) for d in days_ago]
    return [
        {"unit": unit, "kind": "working", "date_earliest": day, "date_latest": day} for day in days
    ]


IN_USE = {"low": 500.0, "high": 500.0, "end": "failed", "noticed": "in_use"}
AT_CHECK = {"low": 500.0, "high": 600.0, "end": "failed", "noticed": "at_check"}


def test_share_of_failures_that_announce_themselves():
    lives = _lives(IN_USE, IN_USE, AT_CHECK, {"low": 900.0}, {**IN_USE, "count": 0.5})
    # (1 + 2.5) / (2 + 3.5)
    assert prompt_shares(lives).rows() == [("BK3", pytest.approx(3.5 / 5.5))]
    assert prompt_shares(_lives({})).rows() == [("BK3", 0.5)]


def test_usual_gap_between_sights_of_a_unit():
    joined = {"enrolled_on_earliest": AS_OF - timedelta(days=1000)}
    units = [
        {"unit": "U1", "enrolled_because": "working", **joined},
        {"unit": "U2", "enrolled_because": "failed", **joined},
        {"unit": "U3", "enrolled_because": None, **joined},
    ]
    reports = [*_seen("U1", 900, 600), *_seen("U2", 500, 100), *_seen("U3", 800)]
    # U1: 100 and 300; U2 was not seen working when it was enrolled: 400; U3: 200
    assert check_in_gaps(_records(units, reports)).rows() == [("BK3", 250.0)]
    assert check_in_gaps(_records(units[:1])).is_empty()


def _with_silence(lives, gap):
    """Evidence where units were usually seen every `gap` days."""
    units = [{"unit": f"U{n}"} for n in range(1, lives.height + 1)]
    return _evidence(lives, _records(units, _seen("U1", 2000 + gap, 2000)))


def test_silence_is_credited_by_the_share_and_no_more_than_the_usual_gap():
    # prompt share (1 + 1) / (2 + 2) = 0.5; the sets are 4000 days old
    lives = _lives(IN_USE, AT_CHECK, {"low": 3900.0}, {"low": 1000.0}, {"low": 4000.0})
    frame = _with_silence(lives, 300)
    assert frame["low"].to_list() == [500.0, 500.0, 3900.0 + 0.5 * 100, 1000.0 + 0.5 * 300, 4000.0]


def test_without_two_sights_of_any_unit_silence_is_not_credited():
    frame = _evidence(_lives({"low": 1000.0}), _records([{"unit": "U1"}]))
    # nobody was seen twice: nothing says how long a silence is usual
    assert frame["low"].to_list() == [1000.0]


@pytest.mark.parametrize("end", ["planned", "retired", "lost_sight", "other_cause", "swapped"])
def test_what_ended_is_credited_with_nothing(end):
    lives = _lives({"low": 1000.0, "end": end}, {"low": 3990.0})
    assert _with_silence(lives, 300)["low"].to_list() == [1000.0, 3995.0]


def test_the_life_table_stays_as_it_is():
    lives = _lives({"low": 1000.0}, IN_USE)
    before = lives.clone()
    _with_silence(lives, 300)
    assert lives.equals(before)


SPLIT = (
    {"unit": "V", "low": 700.0, "high": 700.0, "count": 0.8, "end": "failed"},
    {"unit": "V", "low": 700.0, "count": 0.2, "end": "other_cause"},
)


def test_a_failure_of_unknown_cause_is_one_row_with_both_causes():
    lives = _lives(*SPLIT, {"low": 3000.0, "end": "retired"})
    frame = _evidence(lives, capacitor=7.5, other=1.5)
    assert frame.height == 2
    row = frame.row(0, named=True)
    assert (row["low"], row["high"], row["count"], row["other_low"]) == (700.0, 700.0, 1.0, 700.0)
    # failures under watch 0.8, plus a half, in 0.8 * 700 + 0.2 * 700 + 3000 days; times what
    # other causes are to capacitors, (1.5 + 0.5) / (7.5 + 0.5)
    assert row["other_chance"] == pytest.approx(1.3 / 3700.0 * 0.25)
    assert frame["other_low"][1] is None


def test_of_an_unknown_failure_in_an_interval_the_other_cause_is_a_chance():
    failed, lived = SPLIT
    lives = _lives({**failed, "low": 600.0, "high": 900.0}, {**lived, "low": 600.0})
    row = _evidence(lives).row(0, named=True)
    rate = 1.3 / 600.0 * (2.5 / 8.5)
    assert row["other_chance"] == pytest.approx(-np.expm1(-300.0 * rate))
    assert row["other_low"] == 600.0


def test_a_unit_that_worked_on_after_an_unknown_failure_was_watched_to_its_end():
    failed, lived = SPLIT
    lives = _lives(failed, {**lived, "low": 2500.0, "end": "retired"})
    row = _evidence(lives).row(0, named=True)
    assert (row["low"], row["high"], row["other_low"]) == (700.0, 700.0, 2500.0)


def test_what_was_split_further_keeps_its_counts():
    rows = [
        {"unit": "V", "low": 700.0, "high": 700.0, "count": 0.5, "end": "failed"},
        {"unit": "V", "low": 900.0, "high": 900.0, "count": 0.25, "end": "failed"},
        {"unit": "V", "low": 900.0, "count": 0.25, "end": "other_cause"},
    ]
    frame = _evidence(_lives(*rows))
    assert frame["count"].to_list() == [0.5, 0.25, 0.25]
    assert frame["other_low"].null_count() == 3


def test_a_share_known_because_it_failed_is_left_as_it_is():
    row = {"low": 700.0, "high": 700.0, "count": 0.8, "known_by": 3000.0, "end": "failed"}
    frame = _evidence(_lives(row, {"low": 900.0, "end": "retired"}))
    assert frame["count"].to_list() == [0.8, 1.0]
    assert frame["other_low"].null_count() == 2


def test_heat_use_and_kind_come_from_the_records():
    units = [
        {"unit": "U1", "ambient_c": 31.0, "hours_per_year": 900.0},
        {"unit": "U2"},
    ]
    frame = _evidence(_lives(IN_USE, IN_USE), _records(units))
    assert frame.select("ambient_c", "hours_per_year", "kind").rows() == [
        (31.0, 900.0, "amplifier"),
        (None, None, "amplifier"),
    ]


def test_partly_renewed_sets_are_left_out_and_later_sets_are_replaced_parts():
    lives = _lives(
        {**IN_USE, "parts": "partial"},
        {**IN_USE, "parts": "replaced_known", "batch": "R1"},
        {**IN_USE, "parts": "replaced_unknown", "batch": None},
        {**IN_USE, "batch": "C1:K1;C4:K2"},
    )
    frame = _evidence(lives)
    assert frame.select("parts", "batch").rows() == [
        ("replaced", "R1"),
        ("replaced", None),
        ("original", None),  # positions of different batches are of none
    ]


def test_only_sources_that_never_said_since_when_forget():
    known = {**IN_USE, "known_by": 3000.0, "noticed": None, "enrolled_because": "failed"}
    lives = _lives(
        known, {**known, "source": "dated"}, {**known, "source": None}, IN_USE, {"low": 900.0}
    )
    frame = _evidence(lives, open_sources=["club"])
    assert frame["forgetful"].to_list() == [True, False, True, False, False]


def test_failures_alone_of_an_open_source_are_no_evidence():
    known = {**IN_USE, "known_by": 3000.0, "noticed": None, "enrolled_because": "failed"}
    assert _evidence(_lives(known, known), open_sources=["club"]).is_empty()


def test_the_posterior_of_a_table_is_in_days():
    lives = _lives(*[{**IN_USE, "low": 5000.0 + n, "high": 5000.0 + n} for n in range(30)])
    found = posterior_of(_table(lives), _records(), as_of=AS_OF)
    scale = found.named().filter(pl.col("batch") == "K1")["scale"]
    assert 4500.0 < scale.mean() < 5500.0
