"""Posterior draws summed up: weights, effects, shares of variation, chances; by hand."""

import math

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadFrame
from fleet.fits.suspects.draws import (
    DRAWS,
    batch_effects,
    beside_the_other,
    beside_the_rest,
    chance_alike,
    model_effects,
    shapes,
    weighted_limits,
)
from fleet.fits.suspects.shares import shares_of_variation


def _draws(rows):
    """(model, batch, draw, weight, shape, scale, centre) with parts original and spread 0.2."""
    full = [
        (m, "original", b, d, float(w), float(s), float(x), float(c), 0.2)
        for m, b, d, w, s, x, c in rows
    ]
    return pl.DataFrame(full, DRAWS, orient="row")


# Two draws of a model with two batches: weights 0.25 and 0.75.
TWO = _draws(
    [
        ("M", "A", 0, 0.25, 2, 50, 100),
        ("M", "A", 1, 0.75, 4, 120, 200),
        ("M", "B", 0, 0.25, 2, 100, 100),
        ("M", "B", 1, 0.75, 4, 180, 200),
        ("M", None, 0, 0.25, 2, 90, 100),
        ("M", None, 1, 0.75, 4, 210, 200),
    ]
)


def test_weighted_limits_follow_the_weights():
    frame = pl.DataFrame(
        {"g": ["a"] * 4, "x": [3.0, 1.0, 2.0, 4.0], "weight": [0.2, 0.1, 0.3, 0.4]}
    )
    # Shares below or at 1, 2, 3, 4: 0.1, 0.4, 0.6, 1.
    found = weighted_limits(frame, ["g"], "x", level=0.6)
    assert found.row(0) == ("a", 3.0, 2.0, 4.0)


def test_effects_are_ratios_to_the_typical_batch_and_new_batches_are_none():
    found = batch_effects(TWO)
    assert found["batch"].to_list() == ["A", "B"]
    assert found["effect"].to_list() == [0.6, 0.9]
    assert found["effect_low"].to_list() == [0.5, 0.9]
    assert found["effect_high"].to_list() == [0.6, 1.0]
    assert found["p_shorter"].to_list() == [1.0, 0.75]
    assert shapes(TWO).row(0) == ("M", "original", 4.0, 2.0, 4.0)


def test_chances_within_a_pair_and_beside_the_rest():
    pair = pl.DataFrame({"model": ["M"] * 2, "parts": ["original"] * 2, "batch": ["A", "B"]})
    other = beside_the_other(TWO, pair)
    assert other["p_shorter"].to_list() == [1.0, 0.0]
    assert other["other"].to_list() == pytest.approx([120 / 180, 180 / 120])
    # the lighter draw has 50 beside 100
    assert other["other_low"].to_list() == pytest.approx([50 / 100, 180 / 120])
    assert other["other_high"].to_list() == pytest.approx([120 / 180, 100 / 50])
    rest = beside_the_rest(TWO, pair)
    # Geometric mean of 120 and 180 in the heavier draw.
    assert rest["rest"].to_list() == pytest.approx([math.sqrt(120 / 180), math.sqrt(180 / 120)])


def test_chance_that_all_batches_are_alike_and_wear_out():
    # Draw 0: A at half of typical; draw 1: 0.6 and 0.9.
    assert chance_alike(TWO, within=0.55)["p_alike"].to_list() == [0.75]
    assert chance_alike(TWO, within=0.45)["p_alike"].to_list() == [1.0]
    flat = TWO.with_columns(shape=pl.when(pl.col("draw") == 0).then(0.9).otherwise("shape"))
    found = chance_alike(flat, within=0.45).row(0, named=True)
    assert found["p_wears_out"] == 0.75
    assert found["p_design"] == 0.75


def test_models_are_measured_by_the_geometric_mean_of_all():
    rows = [(m, "A", d, 0.5, 3, s, s) for m, s in (("M", 100), ("N", 400)) for d in (0, 1)]
    found = model_effects(_draws(rows))
    assert found["effect"].to_list() == pytest.approx([0.5, 2.0])
    assert model_effects(TWO)["effect"].to_list() == [None]


def test_shares_by_hand():
    """One draw. Log scales of M: 0 and 2 (lives 1 and 3), of N: 1 (4 lives); shapes 1 and 2."""
    rows = [
        ("M", "A", 0, 1, 1, 1.0, 1.0),
        ("M", "B", 0, 1, 1, math.exp(2.0), 1.0),
        ("N", "C", 0, 1, 2, math.e, 1.0),
    ]
    counts = pl.DataFrame(
        {
            "model": ["M", "M", "N", "N"],
            "parts": ["original"] * 4,
            "batch": ["A", "B", "C", None],
            "lives": [1.0, 3.0, 3.0, 1.0],
        }
    )
    found = shares_of_variation(_draws(rows), counts)
    within_m, chance_m = 0.25 * 0.75 * 4.0, math.pi**2 / 6
    mine = dict(found.filter(model="M").select("part_of_life", "share").iter_rows())
    assert mine["batch"] == pytest.approx(within_m / (within_m + chance_m))
    # Means 1.5 and 1, half of the lives each; N's chance is a fourth of M's.
    model = 0.25**2
    batch, chance = within_m / 2, (chance_m + chance_m / 4) / 2
    whole = found.filter(pl.col("model").is_null())
    shares = dict(whole.select("part_of_life", "share").iter_rows())
    total = model + batch + chance
    assert shares == pytest.approx(
        {"model": model / total, "batch": batch / total, "chance": chance / total}
    )


def test_shares_match_the_variance_of_drawn_lives():
    """Log lives of four batches drawn outright: variance between batches over the whole."""
    rng = np.random.default_rng(1)
    scales = np.array([8.0, 12.0, 14.0, 20.0])
    rows = [("M", f"B{i}", 0, 1, 2.5, s, 13.0) for i, s in enumerate(scales)]
    lives = pl.DataFrame(
        {"model": "M", "parts": "original", "batch": [f"B{i}" for i in range(4)], "lives": 1.0}
    )
    share = shares_of_variation(_draws(rows), lives).filter(model="M", part_of_life="batch")
    logs = np.log(scales[:, None] * rng.weibull(2.5, (4, 200_000)))
    seen = logs.mean(axis=1).var() / logs.var()
    assert share["share"].item() == pytest.approx(seen, rel=0.01)


def test_draws_without_a_column_are_refused():
    with pytest.raises(BadFrame, match="centre"):
        batch_effects(TWO.drop("centre"))
