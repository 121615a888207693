"""The chance that the next recap succeeds: by hand, by its definition, and what must hold."""

import numpy as np
import polars as pl
import pytest
from scipy import stats

from fleet.errors import BadFrame, BadInput
from fleet.fits.success import COUNTS, SuccessPrior, success_chances


def counts(*rows):
    return pl.DataFrame(rows, schema=COUNTS, orient="row")


def one(jobs, cured, **options):
    return success_chances(counts(("M", "K", jobs, cured)), **options).row(0, named=True)


# Models and kinds all but the same: one chance for the whole store, Beta(8, 2) before any job.
SAME = SuccessPrior(kinds=(1e9,), models=(1e9,))


@pytest.mark.parametrize(
    ("jobs", "cured", "by_hand"), [(0, 0, 8 / 10), (4, 3, 11 / 14), (5, 5, 13 / 15), (3, 0, 8 / 13)]
)
def test_one_chance_for_all_is_the_conjugate_table(jobs, cured, by_hand):
    """(8 + cured) / (10 + jobs), worked by hand; limits are quantiles of that beta (scipy)."""
    got = one(jobs, cured, prior=SAME)
    assert got["success"] == pytest.approx(by_hand, abs=2e-3)
    law = stats.beta(8 + cured, 2 + jobs - cured)
    assert (got["success_low"], got["success_high"]) == pytest.approx(
        (law.ppf(0.05), law.ppf(0.95)), abs=0.02
    )


def test_one_chance_for_all_pools_every_model():
    got = success_chances(counts(("A", "K", 4, 3), ("B", "L", 5, 5)), prior=SAME)
    # (8 + 8) / (10 + 9), worked by hand.
    assert got["success"].to_list() == pytest.approx([16 / 19] * 2, abs=2e-3)


def test_models_that_tell_nothing_of_one_another_are_their_own_beta():
    """Worth of others 0.001 job: the chance is cured / jobs, all but what is held before."""
    alone = SuccessPrior(kinds=(1e9,), models=(0.001,))
    got = success_chances(counts(("A", "K", 10, 9), ("B", "K", 10, 1)), prior=alone)
    assert got["success"].to_list() == pytest.approx([0.9, 0.1], abs=1e-3)


def test_one_model_against_plain_integration():
    """One model, c = 10 around M ~ Beta(8, 2), 3 of 4: integrated over M with scipy's betabinom.

    Mean of p given M: (10 M + 3) / (10 + 4).
    """
    prior = SuccessPrior(kinds=(1e9,), models=(10.0,))
    steps = (np.arange(20_000) + 0.5) / 20_000
    mean = stats.beta(8, 2).ppf(steps)
    weight = stats.betabinom.pmf(3, 4, 10 * mean, 10 * (1 - mean))
    weight /= weight.sum()
    got = one(3 + 1, 3, prior=prior)
    assert got["success"] == pytest.approx((weight * (10 * mean + 3) / 14).sum(), abs=1e-3)
    ages = np.linspace(0, 1, 4001)[:, None]
    law = (stats.beta.cdf(ages, 10 * mean[::20] + 3, 10 * (1 - mean[::20]) + 1)
           * weight[::20] / weight[::20].sum()).sum(axis=1)  # fmt: skip
    limits = [float(np.interp(at, law, ages[:, 0])) for at in (0.05, 0.95)]
    assert [got["success_low"], got["success_high"]] == pytest.approx(limits, abs=2e-3)


def _around(rng, mean, worth):
    """Beta draws around a mean; where that has run to 1, numpy wants a hair of room."""
    near = np.clip(mean, 1e-12, 1 - 1e-12)
    return rng.beta(worth * near, worth * (1 - near))


def test_against_draws_from_the_model_as_written_down():
    """Kinds and models drawn from the prior 2,000,000 times, weighed by how likely the counts
    are. Standard errors of the means are about 0.001.
    """
    rows = [("A", "K", 6, 6), ("B", "K", 2, 1), ("C", "L", 3, 2), ("D", "L", 0, 0)]
    rng, n, prior = np.random.default_rng(3), 2_000_000, SuccessPrior()
    store = rng.beta(*prior.store, n)
    d, c = rng.choice(prior.kinds, n), rng.choice(prior.models, n)
    kinds = {k: _around(rng, store, d) for k in "KL"}
    p = {m: _around(rng, kinds[k], c) for m, k, _, _ in rows}
    weight = np.ones(n)
    for model, _, jobs, cured in rows:
        weight *= p[model] ** cured * (1 - p[model]) ** (jobs - cured)
    expected = [np.average(p[model], weights=weight) for model, *_ in rows]
    got = success_chances(counts(*rows))
    assert got["success"].to_list() == pytest.approx(expected, abs=4e-3)
    for (model, *_), low, high in zip(rows, got["success_low"], got["success_high"], strict=True):
        inside = np.average((p[model] >= low) & (p[model] <= high), weights=weight)
        assert inside == pytest.approx(0.9, abs=0.01), model


def test_limits_hold_as_often_as_they_say():
    """150 stores of two kinds with two models each, drawn from the prior (seed 5): 600 limits.

    The share within has a standard error of 0.012 if the limits are right.
    """
    rng, prior, held, all_of_them = np.random.default_rng(5), SuccessPrior(), 0, 0
    for _ in range(150):
        store, d, c = rng.beta(*prior.store), rng.choice(prior.kinds), rng.choice(prior.models)
        rows, truth = [], []
        for kind in "KL":
            mean = _around(rng, store, d)
            for model in "AB":
                p, jobs = _around(rng, mean, c), int(rng.integers(0, 25))
                rows.append((kind + model, kind, jobs, int(rng.binomial(jobs, p))))
                truth.append(float(p))
        got = success_chances(counts(*rows))
        low, high = got["success_low"].to_numpy(), got["success_high"].to_numpy()
        held += int(((low <= truth) & (truth <= high)).sum())
        all_of_them += len(rows)
    assert held / all_of_them == pytest.approx(0.9, abs=0.036)


def test_few_jobs_lean_on_the_kind_and_many_on_themselves():
    bad_kind = [(f"x{i}", "K", 30, 12) for i in range(3)]
    good_kind = [(f"y{i}", "L", 30, 29) for i in range(3)]
    rows = [*bad_kind, *good_kind, ("new K", "K", 0, 0), ("new L", "L", 0, 0)]
    got = dict(success_chances(counts(*rows)).select("model", "success").iter_rows())
    assert got["new K"] < 0.6 < 0.85 < got["new L"]
    rows.append(("own", "K", 60, 59))
    assert success_chances(counts(*rows)).filter(model="own")["success"][0] > 0.85


def test_a_kind_nobody_told_is_like_no_other():
    got = success_chances(counts(("A", None, 40, 4), ("B", None, 0, 0), ("C", "K", 0, 0)))
    chances = dict(got.select("model", "success").iter_rows())
    assert chances["A"] < 0.2
    assert chances["B"] == pytest.approx(chances["C"], abs=1e-9)


def test_more_successes_never_lower_the_chance():
    chances = [one(10, cured)["success"] for cured in range(11)]
    assert chances == sorted(chances)
    assert one(100, 90)["success_low"] > one(10, 9)["success_low"]


def test_higher_level_wider_limits_and_nothing_told():
    wide, narrow = one(5, 4, level=0.99), one(5, 4, level=0.5)
    assert wide["success_low"] < narrow["success_low"] < narrow["success_high"]
    assert narrow["success_high"] < wide["success_high"] < 1.0
    assert success_chances(counts()).is_empty()
    before = one(0, 0)
    assert before["success"] == pytest.approx(0.8, abs=2e-3)


def test_what_cannot_be_is_refused():
    with pytest.raises(BadFrame, match="more succeeded"):
        one(3, 4)
    with pytest.raises(BadInput, match="level"):
        one(3, 3, level=1.0)
    with pytest.raises(BadInput, match="prior"):
        SuccessPrior(models=())
