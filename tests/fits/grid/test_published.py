"""The posterior on published data, with priors so wide that the data speak alone."""

import math

import numpy as np
import polars as pl
import pytest
from scipy.special import gammaln

from fleet.fits import Prior, weibull_posterior
from fleet.fits.grid import draw, weigh
from fleet.fits.grid.settings import Sizes
from fleet.frames import LIFE

FINE = Sizes(fine=(61, 80, 121, 4))

# Survival in weeks of four groups of 20 mice: Grieve 1987, as in Dellaportas and Smith 1993,
# Applied Statistics 42:443-459, and in the BUGS examples, volume 1. None: still alive at the week
# in WATCHED. The second of the first group is 17 here, as in the data file of the benchmark below.
MICE = (
    (12, 17, 21, 25, 11, 26, 27, 30, 13, 12, 21, 20, 23, 25, 23, 29, 35, None, 31, 36),
    (32, 27, 23, 12, 18, None, None, 38, 29, 30, None, 32, None, None, None, None, 25, 30, 37, 27),
    (22, 26, None, 28, 19, 15, 12, 35, 35, 10, 22, 18, None, 12, None, None, 31, 24, 37, 29),
    (27, 18, 22, 13, 18, 29, 28, None, 16, 22, 26, 19, None, None, 17, 28, 26, 12, 17, 26),
)
WATCHED = ((40,), (40,) * 7, (10, 24, 40, 40), (20, 29, 10))
# Mean, sd and Monte Carlo error (time series) of the benchmark run that comes with JAGS's classic
# BUGS examples (vol1/mice), as copied in the Stan repository's bugs_examples/vol1/mice/post.R.
BENCHMARK = {
    "r": (3.282505832, 0.328831602502753, 0.00593038770326027),
    "median 0": (24.4461747099999, 1.83527934356389, 0.0196213658552674),
    "median 1": (35.2348815999999, 3.1409202416556, 0.0305511869544568),
    "median 2": (27.29264683, 2.24902141666842, 0.0234729427497584),
    "median 3": (21.6708317800001, 1.69732778227839, 0.017304934105965),
}


def _mice(small):
    rows = []
    for group, (weeks, watched) in enumerate(zip(MICE, WATCHED, strict=True)):
        left = list(watched)
        for week in weeks:
            end = week if week is not None else left.pop(0)
            rows.append(
                {"low": float(end), "high": week and float(week), "batch": f"group {group}"}
            )
    return small.lives(*rows)


def _exact(lives):
    """Mean and sd of r and of the medians: hazard r t^(r-1) lambda_g, flat in r and log lambda_g.

    Given r, lambda_g has a gamma law of shape d_g (failures) and rate the sum of t^r, which leaves
    r a law of its own, p(r) ~ r^D prod t^r / prod (sum t^r)^d_g.
    """
    r = np.linspace(1.0, 6.0, 4001)
    logs, medians = np.zeros_like(r), []
    for group in range(4):
        mine = lives.filter(pl.col("batch") == f"group {group}")
        failed, ages = mine["high"].drop_nulls().to_numpy(), mine["low"].to_numpy()
        total = np.log((ages[:, None] ** r).sum(axis=0))
        logs += failed.size * np.log(r) + r * np.log(failed).sum() - failed.size * total
        # moments of (log 2 / lambda)^(1/r) given r
        medians.append(
            [
                np.exp(
                    power * (np.log(math.log(2.0)) + total) / r
                    + gammaln(failed.size - power / r)
                    - gammaln(failed.size)
                )
                for power in (1, 2)
            ]
        )  # fmt: skip
    weight = np.exp(logs - logs.max())
    weight /= weight.sum()
    out = {"r": ((weight * r).sum(), (weight * r**2).sum())}
    out |= {
        f"median {g}": tuple((weight * moment).sum() for moment in medians[g]) for g in range(4)
    }
    return {what: (first, math.sqrt(second - first**2)) for what, (first, second) in out.items()}


@pytest.mark.parametrize("what", BENCHMARK)
def test_exact_integration_is_the_published_benchmark(small, what):
    mean, sd, error = BENCHMARK[what]
    exact = _exact(_mice(small))[what]
    # the benchmark had weak priors that were not quite flat, and a run of some 10,000 steps
    assert exact[0] == pytest.approx(mean, abs=4.0 * error + 0.03 * sd)
    assert exact[1] == pytest.approx(sd, rel=0.04)


def _as_flat():
    """Flat in r and in the four log lambda = -r log scale, so r^5 in log r and log scales."""
    return Prior(
        no_wear_out_share=0.0,
        no_wear_out_shape=(1.0, 0.25),
        wear_out_shape=(3.3 * math.exp(20.0), 2.0),  # a slope of 20 / 2^2 at 3.3
        scale_years=(28.0, 50.0),
        spread=100.0,
        renewed_sd=0.4,
        heat=(1.0, 0.4),
        idle_share=0.2,
    )


def test_four_groups_of_one_shape_against_exact_integration(small, monkeypatch):
    # batches as good as apart: their log scales spread by more than the data could bear
    for module in (weigh, draw):
        monkeypatch.setattr(module, "SPREADS", np.array([1.5, 2.0, 2.5]))
    lives = _mice(small)
    exact = _exact(lives)
    named = weibull_posterior(lives, year=1.0, prior=_as_flat(), draws=4000, sizes=FINE).named()
    for group in range(4):
        mine = named.filter(pl.col("batch") == f"group {group}")
        median = mine["scale"] * math.log(2.0) ** (1.0 / mine["shape"])
        mean, sd = exact[f"median {group}"]
        assert median.mean() == pytest.approx(mean, abs=0.06 * sd)
        assert median.std() == pytest.approx(sd, rel=0.05)
    mean, sd = exact["r"]
    assert mine["shape"].mean() == pytest.approx(mean, abs=0.05 * sd)
    assert mine["shape"].std() == pytest.approx(sd, rel=0.04)


def test_pooled_in_part_groups_lie_between_their_own_and_the_common(small):
    lives = _mice(small)
    exact = _exact(lives)
    prior = _as_flat()
    named = weibull_posterior(lives, year=1.0, prior=prior, draws=2000, sizes=FINE).named()
    medians = []
    for group in range(4):
        mine = named.filter(pl.col("batch") == f"group {group}")
        medians.append((mine["scale"] * math.log(2.0) ** (1.0 / mine["shape"])).mean())
    own = [exact[f"median {group}"][0] for group in range(4)]
    assert np.argsort(medians).tolist() == np.argsort(own).tolist()
    assert np.ptp(medians) < np.ptp(own)
    assert max(medians) < max(own)
    assert min(medians) > min(own)


def _widest(shape, scale, *, slope=0.0):
    """Flat in log shape and log scale; one batch, so that its spread does not matter.

    `slope` of the log density in log shape.
    """
    return Prior(
        no_wear_out_share=0.0,
        no_wear_out_shape=(1.0, 0.25),
        wear_out_shape=(shape * math.exp(4.0 * slope), 2.0),
        scale_years=(scale, 5.0),
        spread=1e-3,
        renewed_sd=0.4,
        heat=(1.0, 0.4),
        idle_share=0.2,
    )


def _reference(small, reference, name):
    table, _ = reference.lives(name)
    filled = table.with_columns(pl.col("entry").fill_null(0.0), pl.col("count").fill_null(1.0))
    return small.lives(*filled.select(LIFE.names()).rows(named=True))


@pytest.mark.shared
def test_ball_bearings_against_exact_integration(small, reference):
    # 23 ball bearings (Lieblein and Zelen 1956), none censored; flat in the logs the shape has the
    # law p(b) ~ b^(n-2) prod t^b / (sum t^b)^n
    lives = _reference(small, reference, "ball_bearings")
    age = lives["low"].to_numpy()
    b = np.linspace(0.5, 5.0, 4001)
    logs = (age.size - 2) * np.log(b) + b * np.log(age).sum()
    logs -= age.size * np.log((age[:, None] ** b).sum(axis=0))
    below = np.cumsum(np.exp(logs - logs.max()))
    shares = (0.025, 0.25, 0.5, 0.75, 0.975)
    wanted = np.interp(shares, below / below[-1], b)
    found = weibull_posterior(lives, year=1.0, prior=_widest(2.0, 80.0), draws=4000, sizes=FINE)
    # draws stand on nodes that are 0.05 apart at the upper end
    assert np.quantile(found.draws["shape"], shares) == pytest.approx(wanted, abs=0.05)


@pytest.mark.shared
@pytest.mark.parametrize("name", ["synth1", "channing", "turbine"])
def test_much_data_give_limits_near_those_of_the_profile_likelihood(small, reference, name):
    fit = reference.expected[name]["fits"]["all"]["weibull"]
    # integrating the scale out leaves 1 / shape, as the width of its log: taken back by the slope
    prior = _widest(fit["beta"], fit["eta"], slope=1.0)
    lives = _reference(small, reference, name)
    found = weibull_posterior(lives, year=1.0, prior=prior, draws=4000, sizes=FINE)
    named = found.named().filter(pl.col("batch") == "K1")
    for what, column in (("beta", "shape"), ("eta", "scale")):
        low, high = fit["ci95_profile"][what]
        sd = (high - low) / (2.0 * 1.959964)
        ours = np.quantile(named[column], (0.025, 0.975))
        # tails of a posterior and of a profile differ in the order of 1 / sqrt(failures), here
        # 0.04 to 0.1, and draws stand on nodes that are up to 0.15 apart
        assert ours == pytest.approx([low, high], abs=0.2 * sd)
