"""Failures to expect: against brute force from the draws, sums of chances, batches to come."""

from datetime import date, timedelta

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from fleet.decisions import EXPECTED, due_by_draws, expected_failures
from fleet.errors import BadInput
from fleet.frames import CELLS, DRAWS, WORKING

AS_OF = date(2025, 12, 31)
DRAWN = 200
NO_COSTS = pl.DataFrame(
    schema={"model": pl.String, "planned_cost": pl.Float64, "failure_cost": pl.Float64}
)


def cells_of(models, *, warmth=None):
    """Cells of models named to their batches: original parts, and one each of unknown batches.

    `warmth`: standard deviation of temperatures around 25 degrees C, where some are told.
    """
    rows = []
    for model, batches in models.items():
        for parts, batch in [*(("original", b) for b in batches), ("original", None),
                             ("replaced", None)]:  # fmt: skip
            rows.append({
                "model": model, "parts": parts, "batch": batch, "lives": 50.0, "failures": 10.0,
                "borrowed": False, "usual_c": 25.0, "usual_hours": 2000.0,
                "mean_c": 25.0 if warmth else None, "sd_c": warmth,
            })  # fmt: skip
    frame = pl.DataFrame(rows).with_row_index("cell")
    frame = frame.with_columns(to_come=pl.col("batch").is_null())
    missing = [pl.lit(None).alias(c) for c in CELLS if c not in frame.columns]
    return frame.with_columns(missing).select(CELLS.names()).cast(CELLS)


def draws_of(cells, *, shape=3.5, scale=6000.0, doubt=0.2, spread=0.3, seed=1):
    """Draws joint within a model: shape and centre its own, batches around the centre."""
    rng = np.random.default_rng(seed)
    parts = []
    for (_,), group in cells.group_by("model", maintain_order=True):
        k = shape * np.exp(rng.normal(0.0, doubt, DRAWN))
        centre = np.log(scale) + rng.normal(0.0, doubt, DRAWN)
        own = centre + spread * rng.normal(size=(group.height, DRAWN))
        parts += [
            pl.DataFrame({"cell": cell, "draw": np.arange(DRAWN), "weight": 1.0 / DRAWN,
                          "shape": k, "scale": np.exp(own[n]), "centre": np.exp(centre),
                          "spread": spread, "heat": 1.0, "calendar": 1.0})
            for n, cell in enumerate(group["cell"])
        ]  # fmt: skip
    return pl.concat(parts).select(DRAWS.names()).cast(DRAWS)


def machines(count, *, model="M", batch=None, age=5000, seen=0, **more):
    """Machines of an age in days (or one each), last seen so many days ago."""
    ages = np.broadcast_to(age, count).astype(int)
    start = [AS_OF - timedelta(days=int(a)) for a in ages]
    row = {"set_no": 1, "parts": "original", "failed_once": False, "source": "S", "reports": ""}
    frame = pl.DataFrame(
        {"unit": [f"{model}{batch}-{n}" for n in range(count)], "started": start}
    ).with_columns(
        pl.lit(model).alias("model"), pl.lit(batch, pl.String).alias("batch"),
        *(pl.lit(v).alias(c) for c, v in (row | more).items() if not isinstance(v, list)),
        *(pl.Series(c, v) for c, v in more.items() if isinstance(v, list)),
        last_known_working=pl.lit(AS_OF - timedelta(days=seen)),
        started_earliest="started", started_latest="started", oldest_started="started",
    )  # fmt: skip
    missing = [pl.lit(None).alias(c) for c in WORKING if c not in frame.columns]
    return frame.with_columns(missing).select(WORKING.names()).cast(WORKING)


def shares(share=1.0, models=("M",)):
    return pl.DataFrame({"model": list(models), "prompt_share": share})


def found(working, cells, draws, *, share=1.0, **asked):
    models = cells["model"].unique().to_list()
    return expected_failures(working, cells, draws, shares(share, models), as_of=AS_OF, **asked)


def simulated(working, cells, draws, ends, *, times=200, seed=2):
    """Numbers that fail by each of `ends` days, (times x draws, ends): one draw, then every
    machine by its own law.
    """
    rng = np.random.default_rng(seed)
    place = working.join(cells, on=["model", "batch", "parts"], how="left", nulls_equal=True)
    k = draws["shape"].to_numpy().reshape(-1, DRAWN)[place["cell"].to_numpy()]
    scale = draws["scale"].to_numpy().reshape(-1, DRAWN)[place["cell"].to_numpy()]
    days = (AS_OF - date(1970, 1, 1)).days - place["started"].to_physical().to_numpy()
    age = days.astype(float)[:, None]
    out = []
    for _ in range(times):
        hazard = (age / scale) ** k + rng.exponential(size=k.shape)
        fails = scale * hazard ** (1.0 / k) - age
        out.append([(fails <= end).sum(axis=0) for end in ends])
    return np.array(out).transpose(0, 2, 1).reshape(-1, len(ends))


@pytest.fixture(scope="module")
def small():
    cells = cells_of({"M": ["A", "B"]})
    rng = np.random.default_rng(5)
    working = pl.concat(
        [machines(25, batch=b, age=rng.integers(1500, 7000, 25)) for b in ("A", "B")]
    )
    return working, cells, draws_of(cells)


def test_against_brute_force_from_the_draws(small):
    """40,000 fleets drawn: the mean to its standard error, the limits to a hundredth of chance."""
    working, cells, draws = small
    got = found(working, cells, draws)
    ends = [0.0, *[(d - AS_OF).days for d in got.each["quarter_to"]]]
    counts = np.diff(simulated(working, cells, draws, ends), axis=1)
    total = counts.sum(axis=1)
    rows = [*got.each.iter_rows(named=True), got.models.row(1, named=True)]
    for row, drawn in zip(rows, [*counts.T, total], strict=True):
        # What one draw gives again and again is no new luck: the error is that of fixed draws.
        each = drawn.reshape(-1, DRAWN)
        error = each.std(axis=0).mean() / np.sqrt(each.size)
        assert row["expected"] == pytest.approx(drawn.mean(), abs=4.0 * error)
        for name, tail in (("low", 0.05), ("high", 0.95)):
            below, reached = (drawn < row[name]).mean(), (drawn <= row[name]).mean()
            assert below - 0.01 <= tail <= reached + 0.01
        assert ((drawn >= row["low"]) & (drawn <= row["high"])).mean() >= 0.89


def test_draws_of_a_model_belong_together(small):
    """Two batches whose draws were shuffled apart would promise narrower limits."""
    working, cells, _ = small
    draws = draws_of(cells, spread=0.05)
    rng = np.random.default_rng(6)
    second = pl.col("cell") == 1
    order = pl.Series(rng.permutation(DRAWN))
    apart = pl.concat([
        draws.filter(pl.col("cell") == 0),
        draws.filter(second)[order].with_columns(draw=pl.int_range(DRAWN)),
        draws.filter(pl.col("cell") > 1),
    ])  # fmt: skip
    wide = found(pl.concat([working] * 8).with_columns(unit=_names(8 * 50)), cells, draws)
    thin = found(pl.concat([working] * 8).with_columns(unit=_names(8 * 50)), cells, apart)
    width = [one.models.select(pl.col("high") - pl.col("low")).row(1)[0] for one in (wide, thin)]
    assert width[0] > 1.1 * width[1]


def _names(count):
    return pl.Series([f"U{n}" for n in range(count)])


def test_adds_up_to_the_chances_of_the_due_list(small):
    """Over all quarters: sum over units of (1 - p_failed_unseen) p_fail, to single precision."""
    working, cells, draws = small
    working = working.with_columns(
        last_known_working=pl.lit(AS_OF) - pl.duration(days=pl.int_range(50) * 40)
    )
    got = found(working, cells, draws, share=0.4)
    horizon = (got.each["quarter_to"].max() - AS_OF).days / 365.25
    due = due_by_draws(working, cells, draws, NO_COSTS, shares(0.4), as_of=AS_OF,
                       horizon_years=horizon)  # fmt: skip
    unseen = due["p_failed_unseen"]
    row = got.models.row(1, named=True)
    assert row["already_failed"] == pytest.approx(unseen.sum(), rel=1e-4)
    assert unseen.sum() > 1.0
    assert row["expected"] == pytest.approx(((1.0 - unseen) * due["p_fail"]).sum(), rel=1e-4)
    assert got.each["expected"].sum() == pytest.approx(row["expected"], rel=1e-5)


def test_units_likely_dead_count_with_the_chance_that_they_live(small):
    _, cells, draws = small
    heard = found(machines(40, batch="A", age=6500), cells, draws, share=0.0)
    silent = found(machines(40, batch="A", age=6500, seen=2500), cells, draws, share=0.0)
    a, b = (one.models.row(1, named=True) for one in (heard, silent))
    assert a["already_failed"] == 0.0
    assert b["already_failed"] > 5.0
    assert b["expected"] == pytest.approx(a["expected"] * (1.0 - b["already_failed"] / 40.0))


def test_where_all_are_told_none_is_dead_unseen(small):
    _, cells, draws = small
    silent = found(machines(40, batch="A", age=6500, seen=2500), cells, draws, share=1.0)
    assert silent.models["already_failed"].to_list() == [0.0, 0.0]


def test_a_batch_to_come_inherits_the_spread_of_its_model():
    cells = cells_of({"M": ["A"]})
    narrow, wide = draws_of(cells, spread=0.02), draws_of(cells, spread=0.5)
    new = machines(200, batch="never heard of", age=3000)
    width = [
        found(new, cells, one).models.select(pl.col("high") - pl.col("low")).row(1)[0]
        for one in (narrow, wide)
    ]
    assert width[1] > 1.5 * width[0]


def test_like_machines_stand_for_one_another():
    """Very many of one build year: a few stand for all, and say what one by one would say."""
    cells = cells_of({"M": ["A"]})
    draws = draws_of(cells, doubt=0.0, spread=0.0)
    count = 3000
    like = machines(count, batch="A").with_columns(
        started=date(2012, 7, 1), started_earliest=date(2012, 1, 1),
        started_latest=date(2012, 12, 31),
    )  # fmt: skip
    ages = [int(v) for v in np.linspace(4748, 5113, count)]  # from those days on, one after another
    one_by_one = machines(count, batch="A", age=ages)
    got, wanted = (found(m, cells, draws).models.row(1, named=True) for m in (like, one_by_one))
    assert got["units"] == wanted["units"] == count
    assert got["expected"] == pytest.approx(wanted["expected"], rel=0.01)
    # With the draws in no doubt there is nothing but luck; sixteen dates shared by all add some.
    chance = wanted["expected"] / count
    luck = 2.0 * 1.645 * np.sqrt(count * chance * (1.0 - chance))
    assert wanted["high"] - wanted["low"] == pytest.approx(luck, rel=0.03)
    assert wanted["high"] - wanted["low"] <= got["high"] - got["low"] < 2.0 * luck


@pytest.mark.parametrize(("count", "most"), [(40, 1.3), (250, 1.3), (3000, 2.0)])
def test_blank_heat_of_many_units_averages_out(count, most):
    """What is blank of a unit is its own: where draws are in no doubt there is nothing but luck."""
    cells = cells_of({"M": ["A"]}, warmth=7.0)
    draws = draws_of(cells, doubt=0.0, spread=0.0)
    got = found(machines(count, batch="A", age=5000), cells, draws).models.row(1, named=True)
    chance = got["expected"] / count
    luck = 2.0 * 1.645 * np.sqrt(count * chance * (1.0 - chance))
    assert 0.85 * luck - 1.0 < got["high"] - got["low"] < most * luck + 1.0


def test_partly_renewed_sets_have_old_and_new_parts():
    cells = cells_of({"M": ["A"]})
    draws = draws_of(cells)
    partial = machines(30, batch=None, age=400).with_columns(
        parts=pl.lit("partial"), set_no=2, oldest_started=AS_OF - timedelta(days=6500)
    ).cast({"set_no": pl.Int64}).with_columns(old_batch=pl.lit("A"))  # fmt: skip
    whole = machines(30, batch=None, age=400)
    old = machines(30, batch="A", age=6500)
    counts = [found(one, cells, draws).models["expected"][1] for one in (whole, partial, old)]
    assert counts[0] < counts[1] < counts[2]


def test_models_together_and_alone():
    cells = cells_of({"M": ["A"], "N": ["C"]})
    draws = draws_of(cells)
    both = pl.concat([machines(30, batch="A"), machines(60, model="N", batch="C", age=6000)])
    got = found(both, cells, draws, quarters=3)
    assert got.each.schema == EXPECTED == got.models.schema == got.quarters.schema
    assert got.models["model"].to_list() == [None, "M", "N"]
    assert got.models["units"].to_list() == [90, 30, 60]
    every, m, n = got.models["expected"]
    assert every == pytest.approx(m + n)
    assert got.quarters["expected"].to_list() == pytest.approx(
        got.each.group_by("quarter_from").agg(pl.col("expected").sum()).sort("quarter_from")[
            "expected"
        ].to_list()
    )  # fmt: skip
    alone = found(both.filter(pl.col("model") == "N"), cells, draws, quarters=3)
    assert alone.models["expected"][1] == pytest.approx(n, rel=1e-6)


def test_new_parts_fail_again_by_hand():
    """One draw of constant hazard: parts put in mid-quarter fail at the same rate."""
    cells = cells_of({"M": ["A"]})
    rate = 1.0 / 1000.0
    draws = draws_of(cells, shape=1.0, scale=1000.0, doubt=0.0, spread=0.0)
    some = machines(100, batch="A")
    once = found(some, cells, draws, quarters=2)
    twice = found(some, cells, draws, quarters=2, again=True)
    days = np.array([90.0, 181.0])  # to the ends of March and June 2026
    first = 100.0 * np.array([1.0 - np.exp(-rate * 90.0), np.exp(-rate * 90) - np.exp(-rate * 181)])
    assert once.each["expected"].to_list() == pytest.approx(first.tolist(), rel=1e-4)
    wait = 1.0 - np.exp(-rate * 45.0), np.exp(-rate * 45.0) - np.exp(-rate * (days[1] - 45.0))
    more = [first[0] * wait[0], first[0] * wait[1] + first[1] * (1.0 - np.exp(-rate * 45.5))]
    assert twice.each["expected"].to_list() == pytest.approx((first + more).tolist(), rel=1e-4)
    assert twice.models["expected"][1] == pytest.approx(sum(first) + sum(more), rel=1e-4)


def test_units_without_a_chance_are_counted_apart(small):
    _, cells, draws = small
    got = found(pl.concat([machines(3, batch="A"), machines(2, model="X")]), cells, draws)
    assert got.unknown == 2
    assert got.models["units"].to_list() == [3, 3]
    nobody = found(machines(2, model="X"), cells, draws)
    assert nobody.each.is_empty()
    assert nobody.unknown == 2


def test_a_level_that_cannot_be(small):
    working, cells, draws = small
    with pytest.raises(BadInput, match="between 0 and 1"):
        found(working, cells, draws, level=1.0)


def test_the_same_again_and_the_callers_frames_unchanged(small):
    working, cells, draws = small
    before = working.clone(), cells.clone(), draws.clone()
    first, second = found(working, cells, draws), found(working, cells, draws)
    assert first.each.equals(second.each)
    assert first.models.equals(second.models)
    assert all(a.equals(b) for a, b in zip((working, cells, draws), before, strict=True))


def test_another_model_and_other_names_change_nothing():
    """What is drawn for a unit hangs on what is known of it, not on its place in the table."""
    ages = np.linspace(2500, 6500, 20)
    mine = machines(20, model="M", age=ages, ambient_c=[30.0, None] * 10)
    cells = cells_of({"M": [], "A": []}, warmth=6.0)
    draws = draws_of(cells)
    alone = found(mine, cells, draws).each.filter(model="M")
    renamed = mine.with_columns(unit=pl.format("Z{}", pl.int_range(pl.len(), 0, -1))).sort("unit")
    beside = pl.concat([machines(7, model="A"), renamed])
    among = found(beside, cells, draws).each.filter(model="M")
    assert_frame_equal(alone, among, rel_tol=1e-6)
