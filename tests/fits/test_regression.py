"""Regression on columns: derivatives, the published coefficients, lifelines, plain refusals."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadFrame, BadInput
from fleet.fits import fit_weibull, row_log_likelihood
from fleet.fits.groups.by_lifelines import lifelines_start
from fleet.fits.groups.factors import Factor
from fleet.fits.groups.life_ages import ages_of
from fleet.fits.groups.scale_model import Columns, Groups, ScaleModel
from fleet.fits.regression import regression

ALL_KINDS = [
    (0.0, 3.0, 3.0, None, 2.0),  # exact
    (1.0, 6.0, 6.0, None, 1.0),  # entered late
    (0.0, 5.0, None, None, 3.0),  # still good
    (2.0, 4.0, 7.0, None, 1.5),  # within an interval
    (0.0, 0.0, 2.0, None, 1.0),  # failed before the first look
    (0.0, 2.5, 2.5, 8.0, 1.0),  # known only because it failed
    (1.0, 3.0, 5.0, 9.0, 2.0),  # the same within an interval, entered late
    (1.0, 1.0, 4.0, 4.0, 1.0),  # says nothing: it fills its window
]
X = np.array([0.3, -1.0, 0.8, 0.1, -0.4, 1.2, -0.9, 0.5])


def _model(lives, *columns):
    design = np.column_stack([np.ones(lives.height), *columns])
    return ScaleModel(ages_of(lives), lives["count"].to_numpy(), Columns(matrix=design))


def test_slopes_agree_with_differences(make_lives):
    model = _model(make_lives(ALL_KINDS), X)
    theta, step = np.array([1.6, 0.2, 0.4]), 1e-6
    value, gradient, hessian = model.slopes(theta)
    for k, unit in enumerate(np.eye(3)):
        up, down = (model.slopes(theta + sign * step * unit) for sign in (1.0, -1.0))
        assert gradient[k] == pytest.approx((up[0] - down[0]) / (2 * step), rel=1e-7)
        assert hessian[k] == pytest.approx((up[1] - down[1]) / (2 * step), rel=1e-6, abs=1e-7)
    assert np.isfinite(value)


def test_value_is_the_one_likelihood_row_by_row(make_lives):
    lives = make_lives(ALL_KINDS)
    theta = np.array([1.6, 0.2, 0.4])
    scales = np.exp(1.6 + 0.2 * X)
    rows = [
        row_log_likelihood(lives[i : i + 1], float(np.exp(0.4)), float(scales[i]))[0]
        for i in range(lives.height)
    ]
    assert _model(lives, X).value(theta) == pytest.approx(sum(rows), abs=1e-10)


def test_without_columns_it_is_the_plain_fit(make_lives):
    lives = make_lives([*ALL_KINDS[:5], (0.0, 9.0, 9.0)])
    best, fit = _model(lives).maximum(), fit_weibull(lives)
    assert np.exp(best.theta) == pytest.approx([fit["scale"].item(), fit["shape"].item()], rel=1e-7)
    assert best.value == pytest.approx(fit["log_likelihood"].item(), abs=1e-10)
    assert best.excess < 1e-8


def test_groups_are_columns_of_ones_and_noughts(make_lives):
    lives = make_lives(ALL_KINDS)
    group = np.array([0, 1, 0, 1, 0, 1, 0, 1])
    theta = np.array([1.5, 1.9, 0.3])
    grouped = ScaleModel(ages_of(lives), lives["count"].to_numpy(), Groups(group=group, width=2))
    dense = _model(lives, group.astype(float))
    # log scales 1.5 and 1.9 are 1.5 and a difference of 0.4
    turn = np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    value, gradient, hessian = grouped.slopes(theta)
    same = dense.slopes(np.array([1.5, 0.4, 0.3]))
    assert value == pytest.approx(same[0])
    assert turn.T @ gradient == pytest.approx(same[1])
    assert turn.T @ hessian @ turn == pytest.approx(same[2])


@pytest.mark.parametrize("terms", ["temperature+voltage", "temperature*voltage"])
def test_published_acceleration(reference, terms):
    """Glass capacitors (Meeker and Escobar 1998), R survreg 3.8: log T = X b + scale * W."""
    want = reference.expected["capacitor"]["aft"][terms]
    lives = reference.lives("capacitor")[0].with_columns(
        pl.col("temperature", "voltage").cast(pl.Float64)
    )
    lives = lives.with_columns((pl.col("temperature") * pl.col("voltage")).alias("both"))
    names = {"temperature": "temperature", "voltage": "voltage", "temperature:voltage": "both"}
    chosen = {k: v for k, v in names.items() if k in want["coef"]}
    found = regression(lives, [Factor(column=c, step=1.0) for c in chosen.values()])
    assert found.solved_by == "lifelines"
    assert found.log_likelihood == pytest.approx(want["loglik"], abs=1e-8)
    assert found.shape == pytest.approx(want["beta"], rel=1e-6)
    logs = np.log(found.effects["effect"].to_numpy())
    assert logs == pytest.approx([want["coef"][k] for k in chosen], rel=1e-6)
    raw = np.column_stack([lives[c].to_numpy() for c in chosen.values()])
    centre, spread = raw.mean(axis=0), raw.std(axis=0)
    best = _model(lives, *((raw - centre) / spread).T).maximum()
    errors = np.sqrt(np.diag(best.covariance))
    assert errors[1:-1] / spread == pytest.approx(want["se"][1:-1], rel=1e-4)
    assert errors[-1] == pytest.approx(want["se"][-1], rel=1e-4)


def test_published_likelihood_ratio_against_no_column(reference):
    """The same source: 2 (log-likelihood - that of the intercept alone) is 20.5696 on 2."""
    lives = reference.lives("capacitor")[0].with_columns(
        pl.col("temperature", "voltage").cast(pl.Float64)
    )
    found = regression(lives, ["temperature", "voltage"])
    want = reference.expected["capacitor"]["aft"]["temperature+voltage"]["lrt_vs_intercept_only"]
    alone = fit_weibull(lives)["log_likelihood"].item()
    assert 2 * (found.log_likelihood - alone) == pytest.approx(want, abs=1e-6)


def _simulated(seed, lives=300, slope=0.3, *, late=False, spread=False):
    rng = np.random.default_rng(seed)
    x = rng.standard_normal(lives)
    age = 10.0 * np.exp(slope * x) * rng.weibull(2.5, lives)
    entry = np.where(late & (rng.random(lives) < 0.5), rng.uniform(0.0, 5.0, lives), 0.0)
    end = entry + rng.uniform(3.0, 12.0, lives)
    low, high = np.minimum(age, end), np.where(age <= end, age, np.nan)
    if spread:
        some = (rng.random(lives) < 0.6) & (age <= end)
        low = np.where(some, np.maximum(np.floor(age), entry), low)
        high = np.where(some, np.ceil(age), high)
    columns = {"entry": entry, "low": low, "high": high, "count": rng.integers(1, 3, lives), "x": x}
    table = pl.DataFrame(columns).with_columns(
        pl.col("high").fill_nan(None),
        pl.col("count").cast(pl.Float64),
        known_by=pl.lit(None, dtype=pl.Float64),
    )
    return table.filter(pl.Series(age > entry))


@pytest.mark.parametrize("late", [False, True])
@pytest.mark.parametrize("spread", [False, True])
def test_lifelines_and_our_likelihood_agree(late, spread):
    # with late entries and intervals it gives up on some tables (seed 4 here); see below
    lives = _simulated(5, late=late, spread=spread)
    design = np.column_stack([np.ones(lives.height), lives["x"].to_numpy()])
    theirs = lifelines_start(ages_of(lives), lives["count"].to_numpy(), design)
    ours = _model(lives, lives["x"].to_numpy()).maximum()
    assert theirs == pytest.approx(ours.theta, abs=1e-4)  # its optimiser stops at about 1e-6
    assert regression(lives, ["x"]).solved_by == "lifelines"


@pytest.mark.parametrize("theirs", [None, np.array([9.0, 3.0, -2.0])])
def test_no_answer_or_a_wrong_one_is_not_believed(monkeypatch, theirs):
    lives = _simulated(6)
    right = regression(lives, ["x"])
    monkeypatch.setattr("fleet.fits.regression.lifelines_start", lambda *_: theirs)
    own = regression(lives, ["x"])
    assert (right.solved_by, own.solved_by) == ("lifelines", "fleet")
    assert own.effects["effect"].item() == pytest.approx(right.effects["effect"].item(), rel=1e-8)


def test_lives_lifelines_cannot_do_are_fitted_all_the_same():
    lives = _simulated(9, lives=600)
    known = lives.with_columns(
        known_by=pl.when(pl.col("high").is_not_null()).then(pl.lit(1e9)).otherwise(None)
    )
    failed = known.filter(pl.col("high").is_not_null())
    design = np.ones((failed.height, 1))
    assert lifelines_start(ages_of(failed), failed["count"].to_numpy(), design) is None
    # windows that exclude nothing: the same as no windows
    own = regression(failed, ["x"])
    plain = regression(failed.with_columns(known_by=pl.lit(None, dtype=pl.Float64)), ["x"])
    assert (own.solved_by, plain.solved_by) == ("fleet", "lifelines")
    assert own.effects["effect"].item() == pytest.approx(plain.effects["effect"].item(), rel=1e-7)


def test_limits_hold_the_truth_as_often_as_they_say():
    # 90 % limits of a true ratio of exp(0.3), 20 lives or so: 200 fleets
    held = 0
    for seed in range(200):
        lives = _simulated(1000 + seed, lives=30).with_columns(count=pl.lit(1.0))
        model = _model(lives, lives["x"].to_numpy())
        best = model.maximum()
        # the truth is within the limits where the profile there has not fallen by half of 2.7055
        start = np.array([best.theta[0], 0.3, best.theta[2]])
        held += best.value - model.maximum(start, np.array([1])).value < 0.5 * 2.705543
    assert 165 <= held <= 192  # 180 expected but for the bias of few failures; binomial sd 4.2


def test_names_are_measured_by_the_largest_and_the_missing_are_counted(make_lives):
    rows = [(0.0, a, a) for a in (2.0, 3.0, 4.0, 5.0, 7.0, 8.0, 9.0)] + [(0.0, 6.0, None)] * 3
    names = ["B", "B", "B", "B", "A", "A", "A", "A", None, "B"]
    found = regression(make_lives(rows).with_columns(batch=pl.Series(names)), ["batch"])
    row = found.effects.row(0, named=True)
    assert (row["value"], row["per"]) == ("A", "instead of B")
    assert (row["lives"], row["failures"], row["missing"]) == (4.0, 3.0, 1.0)
    assert not row["reliable"]
    assert row["effect"] > 1.0
    assert row["p_column"] == row["p_value"]


def test_a_value_without_failure_has_only_a_lower_limit(make_lives):
    rows = [(0.0, a, a) for a in (2.0, 3.0, 4.0)] + [(0.0, 6.0, None)] * 5
    lives = make_lives(rows).with_columns(batch=pl.Series(["A"] * 4 + ["B"] * 4))
    row = regression(lives, ["batch"]).effects.row(0, named=True)
    assert (row["value"], row["effect"], row["effect_high"]) == ("B", None, None)
    assert row["effect_low"] > 0.0


def test_groups_apart_take_up_what_is_theirs():
    one, two = _simulated(2), _simulated(3)
    ages = pl.col("entry", "low", "high")
    both = pl.concat(
        [
            one.with_columns(model=pl.lit("M")),
            two.with_columns(ages * 5.0, pl.col("x") + 2.0, model=pl.lit("N")),
            one[:3].with_columns(high=pl.lit(None, dtype=pl.Float64), model=pl.lit("idle")),
        ]
    )
    found = regression(both, [Factor(column="x", step=1.0)], apart=["model"])
    assert found.effects.height == 1
    assert np.log(found.effects["effect"].item()) == pytest.approx(0.3, abs=0.1)
    assert found.lives == one["count"].sum() + two["count"].sum()  # the idle model tells nothing


def test_doubling_is_the_power_of_two():
    lives = _simulated(5).with_columns(use=pl.col("x").exp() * 1000.0)
    plain = regression(lives, [Factor(column="x", step=float(np.log(2.0)))])
    twice = regression(lives, [Factor(column="use", reading="doubling")])
    assert twice.effects["effect"].item() == pytest.approx(plain.effects["effect"].item(), rel=1e-9)


def test_columns_that_cannot_tell_are_refused(make_lives):
    rows = [(0.0, a, a) for a in (2.0, 3.0, 4.0, 5.0)] + [(0.0, 6.0, None)] * 2
    lives = make_lives(rows).with_columns(
        same=pl.lit(3.0), x=pl.Series([1.0, 2.0, 3.0, 4.0, 5.0, 7.0]), word=pl.lit("A")
    )
    for columns, words in (
        (["same"], "same is the same"),
        (["word"], "word is the same"),
        (["x", Factor(column="x")], "nothing beyond"),
        ([], "name the columns"),
    ):
        with pytest.raises(BadInput, match=words):
            regression(lives, columns)
    with pytest.raises(BadInput, match="doubled"):
        regression(
            lives.with_columns(x=pl.col("x") - 1.0), [Factor(column="x", reading="doubling")]
        )
    many = pl.concat([lives] * 10).with_row_index("n").with_columns(pl.col("n").cast(pl.String))
    with pytest.raises(BadInput, match="different values"):
        regression(many, ["n"])
    with pytest.raises(BadInput, match="failed"):
        regression(lives.filter(pl.col("high").is_null()), ["x"])
    with pytest.raises(BadFrame, match="no column heat"):
        regression(lives, ["heat"])
    with pytest.raises(BadFrame, match="text"):
        regression(lives, [Factor(column="word")])
