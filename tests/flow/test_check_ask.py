"""Which machines to ask after first."""

import warnings
from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest

from fleet.flow.check_ask import Ask, machines_to_ask
from fleet.flow.check_effects import Effect, baseline, more_failures, moved, narrowing
from fleet.flow.check_reporting import ask_words, effect_words
from fleet.flow.table import Table
from fleet.frames import LIVES, WORKING

AS_OF = date(2026, 1, 1)
YEAR = 365.25


def _table(seed=3, n=60):
    """Machines watched from new; ten of them not heard of for some years."""
    rng = np.random.default_rng(seed)
    age = 14.0 * rng.exponential(size=n) ** (1.0 / 3.0) * YEAR
    end = rng.uniform(5.0, 15.0, n) * YEAR
    failed = age <= end
    lives = pl.DataFrame(
        {
            "entry": np.zeros(n),
            "low": np.where(failed, age, end),
            "high": np.where(failed, age, np.nan),
            "count": np.ones(n),
            "unit": [f"U{k:02}" for k in range(n)],
            "model": ["M"] * n,
            "set_no": np.ones(n, np.int64),
            "parts": ["original"] * n,
            "end": np.where(failed, "failed", "working"),
        }
    ).with_columns(pl.col("high").fill_nan(None))
    lives = lives.with_columns(
        pl.lit(None, dtype).alias(c) for c, dtype in LIVES.items() if c not in lives.columns
    ).select(list(LIVES))
    still = lives.filter(pl.col("high").is_null()).head(10)
    working = pl.DataFrame(
        {
            "unit": still["unit"],
            "model": still["model"],
            "set_no": still["set_no"],
            "parts": still["parts"],
            "failed_once": [False] * still.height,
            "started": [
                AS_OF - timedelta(round(low + YEAR * (2.5 + k)))
                for k, low in enumerate(still["low"])
            ],
            "last_known_working": [
                AS_OF - timedelta(round(YEAR * (2.5 + k))) for k in range(still.height)
            ],
        }
    )
    working = working.with_columns(
        pl.lit(None, dtype).alias(c) for c, dtype in WORKING.items() if c not in working.columns
    ).select(list(WORKING))
    return Table(lives=lives, working=working, from_store=True, age_unit="days")


def test_an_answer_brings_the_variance_of_its_score():
    """(1 - q) G G' + q (G / (exp(D) - 1)) (...)', the two answers weighed, is G G' (1 - q) / q."""
    step = np.array([0.01, 0.3, 1.0, 3.0])
    q = -np.expm1(-step)
    spelled_out = (1 - q) * 1.0 + q * (1.0 / np.expm1(step)) ** 2
    assert spelled_out == pytest.approx((1 - q) / q)


def test_the_first_named_narrow_most():
    base = baseline(_table())
    one, three, every = (machines_to_ask(base, as_of=AS_OF, most=k) for k in (1, 3, 12))
    assert every.units[:3] == three.units
    assert three.units[0] == one.units[0]
    assert len(every.units) == 10
    for asked in (one, three, every):
        assert asked.low < asked.low_then
        assert asked.high_then < asked.high
    assert one.low_then < three.low_then < every.low_then
    # the best single machine: no other named alone would do more
    table = base.table
    for unit in table.working["unit"]:
        alone = baseline(
            Table(lives=table.lives, working=table.working.filter(unit=unit), from_store=True)
        )
        assert machines_to_ask(alone, as_of=AS_OF).low_then <= one.low_then + 1e-9


def test_who_was_heard_of_this_year_is_not_asked_after():
    table = _table()
    fresh = table.working.with_columns(last_known_working=pl.lit(date(2025, 11, 1)))
    base = baseline(Table(lives=table.lives, working=fresh, from_store=True))
    assert machines_to_ask(base, as_of=AS_OF) is None


def test_without_a_fit_the_longest_silent_come_first():
    table = _table()
    nothing_failed = table.lives.filter(pl.col("high").is_null())
    base = baseline(Table(lives=nothing_failed, working=table.working, from_store=True))
    asked = machines_to_ask(base, as_of=AS_OF, most=2)
    assert asked.effect is None
    oldest = table.working.sort("last_known_working")["unit"].head(2).to_list()
    assert list(asked.units) == oldest


def test_a_machine_that_has_failed_for_certain_tells_nothing():
    """Two failures within days of one another: shape in the hundreds, hazards beyond numbers."""
    table = _table()
    failed = table.lives.filter(pl.col("high").is_not_null()).head(2)
    close = failed.with_columns(low=pl.Series([1000.0, 1002.0]), high=pl.Series([1000.0, 1002.0]))
    base = baseline(Table(lives=close, working=table.working, from_store=True))
    assert base.fits["shape"][0] > 200
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        asked = machines_to_ask(base, as_of=AS_OF)
    assert asked.effect == pytest.approx(0.0, abs=1e-6)


def _ask(low_then, high_then, effect):
    return Ask(units=("A", "B"), model="M", effect=effect, low=5.0 * YEAR, high=20.0 * YEAR,
               low_then=low_then * YEAR, high_then=high_then * YEAR, whose="M")  # fmt: skip


def test_limits_are_told_only_where_they_narrow():
    """Log width 1.386: 7 to 15 leaves 55 % of it, 5.1 to 19.8 leaves 98 %."""
    assert "from 5 to 20 to about 7 to 15 years" in ask_words(["A", "B"], _ask(7, 15, 0.2), of=2)
    assert "narrow" not in ask_words(["A", "B"], _ask(5.1, 19.8, 0.02), of=2)
    assert "check in 2 of the 7 units first" in ask_words(["A", "B"], None, of=7)


def test_the_sentence_gives_the_number_in_the_column():
    move = Effect(size=0.013, model="N")
    said = effect_words(move, _ask(7, 15, 0.07), 2)
    assert said == (
        "; hearing of all 2 brings the limits of the age by which one in ten M has failed 7 % "
        "nearer"
    )
    assert "if all 2 still work" in effect_words(Effect(size=0.2, model="N"), None, 2)
    far = Effect(size=9.0, model="N")
    assert effect_words(far, None, 1).endswith("one in ten N has failed moves by 900 % or more")
    assert effect_words(None, None, 1) == "; its answer hardly helps"


def test_effects_by_hand():
    one = pl.DataFrame({"model": ["A", "B"], "b10": [10.0, 5.0]})
    other = pl.DataFrame({"model": ["A", "B"], "b10": [8.0, 5.5]})
    found = moved(one, other)
    assert (found.model, found.size) == ("A", pytest.approx(0.25))
    beyond = moved(one, other.with_columns(b10=pl.lit(1e9)))
    assert beyond.size == pytest.approx(9.0)
    # log half-width 0.4 to 0.2: limits 22 % nearer; beyond a factor of e nothing is gained
    assert narrowing(0.4, 0.5) == pytest.approx(np.expm1(0.2))
    assert narrowing(40.0, 0.5) == 0.0
    base = baseline(_table())
    half, failures = base.half["M"], base.failures["M"]
    found = more_failures(base, {"M": 3 * failures})
    assert found.size == pytest.approx(np.expm1(0.5 * half))
