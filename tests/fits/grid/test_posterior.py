"""The posterior of whole tables: contracts, invariants, and what it does at the ends."""

import numpy as np
import polars as pl
import pytest
from polars.testing import assert_frame_equal

from fleet.errors import BadFrame, BadInput
from fleet.fits import Prior, weibull_posterior
from fleet.frames import CELLS, DRAWS, check_frame

YEAR = 365.25
AGES = ("entry", "low", "high", "known_by", "other_low")


def _posterior(small, lives, *, year=1.0, draws=100, prior=None):
    return weibull_posterior(lives, year=year, prior=prior or small.prior, draws=draws)


def _named(small, lives, **options):
    return _posterior(small, lives, **options).named()


def _of(frame, model="BK3", parts="original", batch="K1"):
    mine = (pl.col("model") == model) & (pl.col("parts") == parts)
    return frame.filter(mine & pl.col("batch").eq_missing(pl.lit(batch, pl.String)))


def _mixed_table(small):
    """Two models, several batches, every kind of row, half of heat and use told."""
    parts = [
        small.invented(20, shape=3.0, scale=14.0, seed=1, batch="K1"),
        small.invented(15, shape=3.0, scale=19.0, seed=2, batch="K2", parts="replaced"),
        small.invented(12, shape=2.0, scale=17.0, seed=3, model="ZR1", batch="K1"),
        small.lives(
            {"entry": 5.0, "low": 9.0, "high": 11.0, "batch": None},
            {"low": 9.0, "high": 9.0, "known_by": 20.0},
            {"low": 6.0, "high": 6.0, "known_by": 15.0, "forgetful": True},
            {"low": 8.0, "high": 8.0, "other_low": 9.5, "other_chance": 0.02},
            {"entry": 8.0, "low": 8.0, "high": 12.0, "batch": "K2"},
            {"low": 13.0, "count": 4.0},
        ),
    ]
    table = pl.concat(parts)
    rng = np.random.default_rng(9)
    heat = np.where(rng.random(len(table)) < 0.5, rng.uniform(18, 38, len(table)), np.nan)
    use = np.where(rng.random(len(table)) < 0.5, rng.uniform(500, 6000, len(table)), np.nan)
    return table.with_columns(
        ambient_c=pl.Series(heat).fill_nan(None), hours_per_year=pl.Series(use).fill_nan(None)
    )


@pytest.fixture(scope="module")
def table(small):
    return _mixed_table(small)


@pytest.fixture(scope="module")
def found(small, table):
    return _posterior(small, table)


def test_cells_and_draws_keep_their_contracts(found):
    check_frame(found.cells, CELLS, name="cells")
    check_frame(found.draws, DRAWS, name="draws")
    assert found.cells["cell"].to_list() == list(range(found.cells.height))
    order = np.repeat(np.arange(found.cells.height), 100)
    assert found.draws["cell"].to_list() == order.tolist()
    assert found.draws["draw"].to_list() == list(range(100)) * found.cells.height
    weights = found.draws.group_by("cell").agg(pl.col("weight").sum())["weight"]
    assert weights.to_numpy() == pytest.approx(np.ones(found.cells.height))


def test_every_model_has_the_cells_of_its_lives_and_parts_to_come(table, found):
    key = ["model", "parts", "batch"]
    lived = found.cells.filter(~pl.col("to_come")).select(key).rows()
    assert sorted(lived, key=str) == sorted(table.select(key).unique().rows(), key=str)
    assert ("BK3", "original", "K1") in lived
    assert any(batch is None for _, _, batch in lived)  # sets whose batch nobody told
    new = found.cells.filter("to_come").select(key).rows()
    models = ("BK3", "ZR1")
    assert new == [(model, parts, None) for model in models for parts in ("original", "replaced")]


def test_named_draws_without_a_batch_are_of_parts_to_come(found):
    new = found.named().filter(pl.col("batch").is_null())
    assert new.height == 4 * 100
    cells = found.cells.filter("to_come").select("cell")
    wanted = found.draws.join(cells, on="cell", how="semi")["scale"]
    assert sorted(new["scale"]) == sorted(wanted)


def test_counts_of_cells(small, table, found):
    known = found.cells.drop_nulls("batch").select("parts", "model", "batch", "lives", "failures")
    for parts, model, batch, lives, failures in known.rows():
        mine = _of(table, model, parts, batch)
        assert lives == mine["count"].sum()
        assert failures == mine.filter(pl.col("high").is_not_null())["count"].sum()
    whole = found.cells.filter("to_come")
    for parts, model, lives, oldest in whole.select("parts", "model", "lives", "oldest_age").rows():
        mine = table.filter((pl.col("parts") == parts) & (pl.col("model") == model))
        assert lives == mine["count"].sum()
        assert oldest == mine.select(pl.max_horizontal("low", "high").max()).item()


def test_draw_numbers_are_joint_within_a_model(found):
    shared = ["shape", "centre", "spread", "heat", "calendar"]
    several = found.named().group_by("model", "draw").agg(pl.col(shared).n_unique())
    assert several.select(pl.col(shared).max()).row(0) == (1,) * len(shared)
    scales = found.named().group_by("model", "draw").agg(pl.col("scale").n_unique())
    assert scales["scale"].min() > 1


def test_twice_the_same_to_the_last_bit(small, table, found):
    again = _posterior(small, table)
    assert_frame_equal(again.draws, found.draws, check_exact=True)
    assert_frame_equal(again.cells, found.cells, check_exact=True)


def test_a_model_alone_and_among_others_agrees_to_the_last_bit(small, table, found):
    many = pl.concat(
        [table.with_columns(model=pl.col("model") + suffix) for suffix in ("", "b", "c", "d")]
    )
    among = _named(small, many)
    for model in ("BK3", "ZR1"):
        alone = _named(small, table.filter(pl.col("model") == model))
        for frame in (among, found.named()):
            assert_frame_equal(frame.filter(pl.col("model") == model), alone, check_exact=True)


def test_the_order_of_rows_and_batches_does_not_matter(small, table, found):
    mixed = table.sample(fraction=1.0, shuffle=True, seed=4)
    keys = ["model", "parts", "batch", "draw"]
    assert_frame_equal(
        _named(small, mixed).sort(keys), found.named().sort(keys), rel_tol=1e-9, abs_tol=0.0
    )


def test_other_names_of_batches_only_change_the_order_of_draws(small):
    one = small.invented(20, shape=3.0, scale=14.0, seed=1, batch="K1")
    other = small.invented(20, shape=3.0, scale=19.0, seed=2, batch="K2")
    swapped = {"K1": "K9", "K2": "K0"}
    renamed = pl.concat([one, other]).with_columns(pl.col("batch").replace(swapped))
    before = _named(small, pl.concat([one, other]), draws=400)
    after = _named(small, renamed, draws=400)
    for old, new in swapped.items():
        a, b = (_of(f, batch=n)["scale"].log() for f, n in ((before, old), (after, new)))
        # even steps meet in another order: means and spreads of 400 draws differ by little
        assert a.mean() == pytest.approx(b.mean(), abs=0.1 * a.std())
        assert a.std() == pytest.approx(b.std(), rel=0.1)


def test_rows_told_once_with_a_count_or_many_times_agree(small, table):
    whole = table.filter(pl.col("count") == 1.0)
    counted = whole.with_columns(count=pl.lit(3.0))
    expanded = pl.concat([whole] * 3)
    keys = ["model", "parts", "batch", "draw"]
    a, b = _named(small, counted).sort(keys), _named(small, expanded).sort(keys)
    # sums are the same but for rounding; medians of what is told once or three times as well
    assert_frame_equal(a, b, rel_tol=1e-6, abs_tol=1e-9)


def test_days_and_years_agree(small, table, found):
    in_days = table.with_columns(
        pl.col(*AGES) * YEAR,
        other_chance=pl.when(pl.col("low") == pl.col("high"))
        .then(pl.col("other_chance") / YEAR)  # a rate
        .otherwise("other_chance"),
    )
    years = _named(small, in_days, year=YEAR).with_columns(pl.col("scale", "centre") / YEAR)
    assert_frame_equal(years, found.named(), rel_tol=1e-9, abs_tol=0.0)


def test_an_empty_table(small):
    found = _posterior(small, small.lives())
    assert found.cells.is_empty()
    assert found.draws.is_empty()
    assert found.named().is_empty()


@pytest.mark.parametrize("year", [0.0, -1.0, float("nan"), float("inf")])
def test_a_year_that_cannot_be(small, year):
    with pytest.raises(BadFrame, match="year"):
        _posterior(small, small.lives({"low": 1.0}), year=year)


def test_a_table_that_breaks_its_contract(small):
    lives = small.lives({"low": 1.0})
    with pytest.raises(BadFrame, match="known_by"):
        _posterior(small, lives.drop("known_by"))
    with pytest.raises(BadFrame, match="NaN"):
        _posterior(small, lives.with_columns(low=pl.lit(float("nan"))))


@pytest.mark.parametrize(
    "wrong",
    [
        {"no_wear_out_share": 1.5},
        {"idle_share": -0.1},
        {"spread": 0.0},
        {"scale_years": (15.0, float("nan"))},
        {"wear_out_shape": (-3.0, 0.3)},
    ],
)
def test_a_prior_that_cannot_be(wrong):
    with pytest.raises(BadInput):
        Prior(**wrong)
