"""Batch or design from lives and hand-made posterior draws: verdicts, ranking, words."""

from datetime import date

import numpy as np
import polars as pl
import pytest

from fleet.fits.suspects.draws import DRAWS
from fleet.flow.suspects import SUSPECTS, sort_lives, suspects_of
from fleet.flow.suspects_comparable import nothing_to_compare
from fleet.flow.suspects_dates import dated_failures
from fleet.flow.suspects_judge import judge_across, judge_model, together_p
from fleet.flow.suspects_words import sure_words
from fleet.flow.table import Table
from fleet.frames import LIVES

YEAR = 365.25
GOOD = {"good-1": 15.0, "good-2": 15.0, "good-3": 15.0}


def _lives(model, batches, *, seed=1, n=25, shape=3.0, parts="original", watched=(6.0, 16.0)):
    """Lives in days of batches (name: scale in years), entered at 0 to 5 years."""
    rng = np.random.default_rng(seed)
    rows = []
    for batch, scale in batches.items():
        entry = rng.uniform(0.0, 5.0, n)
        stop = entry + rng.uniform(*watched, n)
        age = scale * ((entry / scale) ** shape + rng.exponential(size=n)) ** (1.0 / shape)
        for e, a, s in zip(entry, age, stop, strict=True):
            low, high = min(a, s) * YEAR, a * YEAR if a <= s else None
            rows.append({"entry": e * YEAR, "low": low, "high": high, "batch": batch})
    frame = pl.DataFrame(rows, schema_overrides={"high": pl.Float64}).with_columns(
        count=pl.lit(1.0),
        model=pl.lit(model),
        parts=pl.lit(parts),
        unit=pl.format("U{}", pl.int_range(pl.len())),
        reports=pl.lit(""),
    )
    return frame.select(
        (pl.col(c) if c in frame.columns else pl.lit(None)).cast(t).alias(c)
        for c, t in LIVES.items()
    )


def _draws(model, effects, *, centre=15.0, shape=3.0, sd=0.08, shape_sd=0.1, parts="original"):
    """Two hundred draws: log-normal effects around those given, all independent."""
    rng, n = np.random.default_rng(9), 200
    shapes = shape * np.exp(shape_sd * rng.normal(size=n))
    frames = []
    for batch, effect in {**effects, None: 1.0}.items():
        scale = centre * YEAR * effect * np.exp(sd * rng.normal(size=n))
        columns = {
            "draw": np.arange(n), "weight": np.full(n, 1 / n), "shape": shapes, "scale": scale,
            "centre": np.full(n, centre * YEAR), "spread": np.full(n, 0.2),
        }  # fmt: skip
        named = pl.DataFrame(columns).with_columns(
            model=pl.lit(model), parts=pl.lit(parts), batch=pl.lit(batch, pl.String)
        )
        frames.append(named.select(pl.col(c).cast(t) for c, t in DRAWS.items()))
    return pl.concat(frames)


def _verdicts(found, level="batch"):
    return dict(found.frame.filter(level=level).select("name", "verdict").iter_rows())


def test_a_bad_batch_is_named_first_and_the_others_are_not_accused():
    lives = _lives("M1", {"bad": 7.0, **GOOD})
    draws = _draws("M1", {"bad": 0.5, **dict.fromkeys(GOOD, 1.05)})
    found = suspects_of(Table(lives=lives), draws)
    assert found.frame.schema == SUSPECTS
    assert found.frame["name"][0] == "bad"
    assert _verdicts(found) == {"bad": "shorter life", **dict.fromkeys(GOOD, "like the others")}
    assert _verdicts(found, "model") == {"M1": "one of 4 batches lives shorter: batch"}
    row = found.frame.row(0, named=True)
    assert row["effect_low"] < 0.5 < row["effect_high"] < 1.0
    assert row["p_adjusted"] < 0.05
    assert found.words[0].startswith("Suspect: bad in M1 lives shorter (more than 99 in 100)")
    assert "only sooner" in row["pattern"]


def test_the_test_alone_and_the_posterior_alone_accuse_nobody():
    lives = _lives("M1", {"bad": 7.0, **GOOD})
    unsure = suspects_of(Table(lives=lives), _draws("M1", {"bad": 0.9, **GOOD_ALIKE}, sd=0.2))
    assert _verdicts(unsure)["bad"] == "cannot tell"
    alike = _lives("M1", {"bad": 15.0, **GOOD})
    sure = suspects_of(Table(lives=alike), _draws("M1", {"bad": 0.5, **GOOD_ALIKE}))
    assert _verdicts(sure)["bad"] == "cannot tell"


GOOD_ALIKE = dict.fromkeys(GOOD, 1.0)


def test_a_batch_that_differs_by_little_is_not_accused():
    # Told apart on hundreds of lives, but 0.9 times as long is what batches ordinarily do.
    lives = _lives("M1", {"A": 13.0, **GOOD}, n=400, shape=6.0)
    found = suspects_of(Table(lives=lives), _draws("M1", {"A": 0.88, **GOOD_ALIKE}, sd=0.02))
    row = found.frame.filter(level="batch", name="A").row(0, named=True)
    assert row["p_adjusted"] < 0.05
    assert row["effect_high"] < 1.0
    assert row["verdict"] == "differs a little"
    assert not found.words[0].startswith("Suspect")


def test_batches_alike_that_wear_out_are_the_design():
    found = suspects_of(Table(lives=_lives("M1", GOOD)), _draws("M1", GOOD_ALIKE))
    assert _verdicts(found, "model") == {"M1": "batches fail alike: the design ages its parts"}
    assert set(_verdicts(found).values()) == {"like the others"}
    model = found.frame.filter(level="model").row(0, named=True)
    assert "19 in 20" in model["reason"] or "99 in 100" in model["reason"]
    assert any("No batch is told apart" in words for words in found.words)


def test_two_batches_with_different_life_are_called_so():
    lives = _lives("M1", {"A": 6.0, "B": 16.0}, n=30)
    found = suspects_of(Table(lives=lives), _draws("M1", {"A": 0.6, "B": 1.6}))
    assert _verdicts(found, "model") == {"M1": "two batches with different life: batch"}
    assert _verdicts(found) == {"A": "shorter life", "B": "the other of two"}
    # 0.6 beside 1.6: 0.375, and both lie clearly apart from what is typical
    assert "than the other batch (more than 99 in 100): 0.37 times as long" in found.words[0]
    assert "settle poorly" not in found.words[0]
    assert len([words for words in found.words if "Suspect" in words]) == 1


def test_a_pair_whose_limits_beside_typical_are_open_says_what_the_verdict_rests_on():
    lives = _lives("M1", {"A": 6.0, "B": 16.0}, n=30)
    draws = _draws("M1", {"A": 0.75, "B": 1.6}, sd=0.25)
    found = suspects_of(Table(lives=lives), draws)
    row = found.frame.filter(level="batch", name="A").row(0, named=True)
    assert row["verdict"] == "shorter life"
    assert row["effect_high"] > 1.0
    assert "the verdict is of the two beside each other" in row["reason"]


def test_one_failure_of_one_never_tops_the_list():
    lives = pl.concat([_lives("M1", GOOD), _lives("M1", {"single": 15.0}, n=1)])
    one = pl.col("batch") == "single"
    lives = lives.with_columns(
        entry=pl.when(one).then(0.0).otherwise("entry"),
        low=pl.when(one).then(2.0 * YEAR).otherwise("low"),
        high=pl.when(one).then(2.0 * YEAR).otherwise("high"),
    )
    # Even a posterior that shrank too little must not bring it to the top.
    draws = _draws("M1", {**GOOD_ALIKE, "single": 0.4})
    batches = suspects_of(Table(lives=lives), draws).frame.filter(level="batch")
    assert batches["name"].to_list()[-1] == "single"
    assert batches["verdict"].to_list()[-1] == "too few failures"
    assert batches["failures"].to_list()[-1] == 1.0


def test_original_and_replaced_parts_are_never_pooled_and_partial_sets_are_left_aside():
    lives = pl.concat(
        [
            _lives("M1", GOOD),
            _lives("M1", {"good-1": 5.0, "new": 5.0}, parts="replaced_known", n=12),
            _lives("M1", {"good-1": 1.0}, parts="partial", n=12),
        ]
    )
    draws = pl.concat(
        [
            _draws("M1", GOOD_ALIKE),
            _draws("M1", {"good-1": 1.0, "new": 1.0}, parts="replaced", centre=5.0),
        ]
    )
    found = suspects_of(Table(lives=lives), draws)
    rows = found.frame.filter(level="batch", name="good-1").sort("parts")
    assert rows["parts"].to_list() == ["original", "replaced"]
    assert rows["lives"].to_list() == [25.0, 12.0]
    assert "shorter life" not in rows["verdict"].to_list()
    assert found.suspects_for("replaced")
    assert not any("(replaced parts)" in words for words in found.suspects_for("original"))


def test_unknown_and_mixed_batches_count_for_no_batch():
    lives = _lives("M1", GOOD, n=8)
    mixed = pl.when(pl.int_range(pl.len()) < 4).then(pl.lit("C1:good-1;C2:good-2"))
    unknown = pl.int_range(pl.len()) == 5
    lives = lives.with_columns(batch=mixed.otherwise("batch"))
    lives = lives.with_columns(batch=pl.when(~unknown).then("batch"))
    kept, notes = sort_lives(Table(lives=lives))
    assert kept["batch"].null_count() == 5
    assert "5 lives are of unknown or mixed batches" in notes[0]


def test_one_life_without_a_batch_is_one():
    lives = _lives("M1", GOOD, n=8)
    lives = lives.with_columns(batch=pl.when(pl.int_range(pl.len()) > 0).then("batch"))
    assert sort_lives(Table(lives=lives))[1] == (
        "1 life is of an unknown batch or of mixed ones: it counts for its model, and for no batch",
    )


def _positions(*verdicts):
    return pl.DataFrame({"verdict": verdicts}, schema={"verdict": pl.String})


def test_what_leaves_nothing_to_compare():
    one = _lives("M1", {"A": 15.0}, n=3)
    two = _lives("M1", {"A": 15.0, "B": 15.0}, n=3)
    elsewhere = pl.concat([one, _lives("M2", {"A": 15.0}, n=3)])
    unnamed = one.with_columns(batch=pl.lit(None, pl.String))
    few = _positions("too few failures", "not told apart")
    assert nothing_to_compare(unnamed, few).startswith("No batch is named, and no position")
    assert "No model has two named batches" in nothing_to_compare(one, few)
    replaced = one.with_columns(parts=pl.lit("replaced"), batch=pl.lit("B"))
    assert nothing_to_compare(pl.concat([one, replaced]), _positions()) is not None
    assert nothing_to_compare(two, few) is None
    assert nothing_to_compare(elsewhere, few) is None
    assert nothing_to_compare(one, _positions("cannot tell")) is None


def test_a_batch_in_two_models_is_held_against_each():
    lives = pl.concat(
        [_lives(m, {"bad": 7.0, **GOOD}, seed=s) for s, m in enumerate(("M1", "M2"), 1)]
    )
    effects = {"bad": 0.5, **dict.fromkeys(GOOD, 1.05)}
    draws = pl.concat([_draws(m, effects) for m in ("M1", "M2")])
    found = suspects_of(Table(lives=lives), draws)
    across = _verdicts(found, "batch across models")
    assert across["bad"] == "shorter life in each of its 2 models: the parts"
    assert across["good-1"] == "like the others"
    row = found.frame.filter(level="batch across models", name="bad").row(0, named=True)
    assert row["model"] is None
    assert row["failures"] == found.frame.filter(level="batch", name="bad")["failures"].sum()


def test_a_batch_bad_in_one_model_only_is_said_to_be_so():
    row = {"models": 3, "shorter": 1, "below": 2, "p_adjusted": 0.3, "p_shorter": 0.8,
           "effect_low": 0.6, "effect_high": 1.2, "failures": 12.0}  # fmt: skip
    assert judge_across(row) == "shorter life in one of its 3 models only"
    weak = {**row, "shorter": 0, "below": 3, "p_adjusted": 0.01, "p_shorter": 0.97}
    assert judge_across(weak) == "shorter life in its 3 models together: the parts"
    # Two chances of 0.05 on one side: normal scores 1.96 each, their mean times root 2.
    assert together_p([0.05, 0.05], [True, True]) == pytest.approx(0.005574, rel=1e-3)
    assert together_p([0.05, 0.05], [True, False]) == pytest.approx(1.0)


def test_models_that_cannot_be_judged_say_why():
    row = {"shorter": 0, "longer": 0, "groups": 3, "reason": None, "p_alike_adjusted": 0.5,
           "known": 2, "p_same": 0.95, "p_wears_out": 0.99, "p_design": 0.94}  # fmt: skip
    assert judge_model(row) == "batches fail alike: the design ages its parts"
    told = {
        "fewer than two batches are named": {"groups": 1},
        "too few": {"reason": "too few"},
        "differ, but none clearly enough": {"p_alike_adjusted": 0.01},
        "all but one batch": {"known": 1},
        "could still hide": {"p_same": 0.6},
        "whether age matters is open": {"p_wears_out": 0.8},
    }
    for words, change in told.items():
        verdict = judge_model({**row, **change})
        assert verdict.startswith("cannot tell: ")
        assert words in verdict
    assert "age does not matter" in judge_model({**row, "p_wears_out": 0.3})


def test_how_sure_is_said_as_people_say_it():
    assert sure_words(0.953) == "about 19 in 20"
    assert sure_words(0.995) == "more than 99 in 100"
    assert sure_words(0.88) == "about 9 in 10"
    assert sure_words(0.7) == "about 7 in 10"
    assert sure_words(None) == "unknown"


def test_failures_that_crowd_on_the_calendar_are_said_apart():
    lives = _lives("M1", {"bad": 7.0, **GOOD})
    failed = lives.filter((pl.col("batch") == "bad") & pl.col("high").is_not_null())
    n = failed.height
    start = np.linspace(0.0, 6.0 * YEAR, n)
    dated = pl.DataFrame(
        {
            "model": ["M1"] * n, "parts": ["original"] * n, "batch": ["bad"] * n,
            "unit": failed["unit"], "site": ["shed"] * n, "start": start,
            "age": 9.0 * YEAR - start + np.arange(n), "youngest": [0.0] * n,
            "oldest": [1e5] * n,
        }
    )  # fmt: skip
    draws = _draws("M1", {"bad": 0.5, **dict.fromkeys(GOOD, 1.05)})
    found = suspects_of(Table(lives=lives), draws, dated=dated)
    pattern = found.frame["pattern"][0]
    assert f"{n} of {n} failures" in pattern
    assert "within three months, whatever their age" in pattern


def test_only_failures_noticed_at_once_are_dated():
    lives = _lives("M1", {"A": 7.0}, n=6).with_columns(
        high=pl.col("low"), reports=pl.format("r{};x", pl.int_range(pl.len()))
    )
    lives = lives.with_columns(
        noticed=pl.when(pl.int_range(pl.len()) == 1).then(pl.lit("at_check"))
        .otherwise(pl.lit("in_use"))
    )  # fmt: skip
    n = 6
    days = pl.Series([date(2020, 1, 1 + i) for i in range(n)])
    wide = pl.int_range(pl.len()) == 2
    reports = pl.DataFrame(
        {
            "record": [f"r{i}" for i in range(n)],
            "kind": ["failed"] * 5 + ["working"],
            "date_earliest": days,
            "date_latest": days,
            "found_dead": [None, None, None, True, None, None],
            "last_known_working_earliest": pl.Series([None] * n, dtype=pl.Date),
        }
    ).with_columns(date_latest=pl.when(wide).then(pl.date(2020, 12, 31)).otherwise("date_latest"))
    units = pl.DataFrame({"unit": lives["unit"], "site": ["shed"] * n})
    found = dated_failures(lives, reports, units, as_of=date(2024, 1, 1))
    # Not: found at a check, dated to the year, found dead, no failure.
    assert found["unit"].to_list() == ["U0", "U4"]
    day = (date(2020, 1, 1) - date(1970, 1, 1)).days
    assert (found["start"] + found["age"]).to_list() == [day, day + 4]


def test_no_lives_and_no_named_batches_are_no_error():
    lives = _lives("M1", {"A": 15.0})
    nothing = suspects_of(Table(lives=lives.clear()), _draws("M1", {"A": 1.0}).clear())
    assert nothing.frame.is_empty()
    assert nothing.frame.schema == SUSPECTS
    nameless = suspects_of(
        Table(lives=lives.with_columns(batch=pl.lit(None, pl.String))), _draws("M1", {})
    )
    assert nameless.frame["level"].to_list() == ["model"]
    assert "fewer than two batches are named" in nameless.frame["verdict"][0]
    assert nameless.words[0] == "No batch is named, so none can be suspected"
