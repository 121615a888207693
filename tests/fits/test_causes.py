"""Which position failed: against published estimates, closed forms, integrals and known truth."""

import numpy as np
import polars as pl
import pytest
from scipy.integrate import quad

from fleet.errors import BadFrame, BadInput
from fleet.fits import fit_causes, fit_weibull
from fleet.fits.masked.laws import LifeLaw, ShareLaw
from fleet.fits.masked.rows import read_masked
from fleet.frames import LIFE

# Guo, Szidarovszky and Niu (2013), Proc. RAMS, doi 10.1109/rams.2013.6517765, Table 2: 30 systems
# of three parts, none censored; age and the parts among which the faulty one is.
GUO = """21 2;38 12;54 3;66 3;76 12;78 23;123 3;130 13;152 123;159 1;199 3;201 1;204 1;215 23;218 12
281 1;295 2;310 3;338 3;341 2;354 1;358 2;431 123;457 3;545 123;569 2;677 3;818 2;946 23;1486 1"""


def masked(rows, **lists):
    """Lives from (entry, low, high, known_by, count, candidates); further list columns by name."""
    schema = {**LIFE, "candidates": pl.List(pl.String)}
    frame = pl.DataFrame([(*r[:5], r[5]) for r in rows], schema=schema, orient="row")
    kinds = {"weights": pl.List(pl.Float64), "at_risk": pl.List(pl.String)}
    return frame.with_columns(pl.Series(k, v, dtype=kinds[k]) for k, v in lists.items())


def exact(*pairs):
    return masked([(0.0, float(t), float(t), None, 1.0, list(c)) for t, c in pairs])


@pytest.fixture(scope="module")
def guo():
    each = [item.split() for item in GUO.replace("\n", ";").split(";")]
    return exact(*each)


def test_published_competing_weibulls(guo):
    """The paper's maximum, digits as printed there."""
    fit = fit_causes(guo, shape="own", limits=())
    assert fit["position"].to_list() == ["1", "2", "3"]
    assert fit["shape"].to_list() == pytest.approx([1.2576, 1.1635, 1.1308], abs=5e-5)
    assert fit["scale"].to_list() == pytest.approx([994.3661, 908.9458, 840.1141], rel=1e-5)
    assert fit["log_likelihood"][0] == pytest.approx(-228.6851, abs=5e-5)
    assert fit["failures"].sum() == pytest.approx(30.0)


def test_published_data_with_one_rate_each(guo):
    """Exponential lives: rates and maximum reckoned apart from this code, total 30 / 10140."""
    fit = fit_causes(guo, shape=1.0, limits=())
    rates = 1.0 / fit["scale"].to_numpy()
    assert rates == pytest.approx([8.5795e-4, 9.8803e-4, 1.11260e-3], rel=1e-5)
    assert rates.sum() == pytest.approx(30.0 / 10140.0, rel=1e-9)
    assert fit["log_likelihood"][0] == pytest.approx(-229.37239, abs=5e-6)


def test_one_shape_for_all_is_the_boards_own(guo):
    """Shares and ages part: shape, its limits and the first failure's life are fit_weibull's."""
    fit, board = fit_causes(guo), fit_weibull(guo)
    for name in ("shape", "shape_low", "shape_high"):
        assert fit[name].to_list() == pytest.approx([board[name][0]] * 3, rel=1e-6)
    first = (fit["scale"] ** -fit["shape"]).sum() ** (-1.0 / fit["shape"][0])
    assert first == pytest.approx(board["scale"][0], rel=1e-6)
    assert fit["share"].sum() == pytest.approx(1.0)


def test_two_exponentials_in_closed_form():
    """Miyakawa (1984), IEEE Trans. Reliability 33: (n_j + n_12 n_j / (n_1 + n_2)) / time."""
    pairs = [(3, "1"), (5, "1"), (2, "1"), (7, "2"), (4, "12"), (6, "12")]
    rows = exact(*pairs)
    still = masked([(0.0, 9.0, None, None, 4.0, None)])
    fit = fit_causes(pl.concat([rows, still]), shape=1.0, limits=())
    time = 27.0 + 36.0
    by_hand = [(3 + 2 * 3 / 4) / time, (1 + 2 * 1 / 4) / time]
    assert 1.0 / fit["scale"].to_numpy() == pytest.approx(by_hand, rel=1e-8)
    assert fit["failures"].to_list() == pytest.approx([4.5, 1.5], rel=1e-8)
    assert fit["named"].to_list() == [5.0, 3.0]
    assert fit["alone"].to_list() == [3.0, 1.0]


def hazard(t, shape, scale):
    return shape / scale * (t / scale) ** (shape - 1.0)


def by_brute_force(lives, names, shapes, scales):
    """The log-likelihood straight from its definition, each interval by adaptive quadrature."""
    total = 0.0
    for row in lives.iter_rows(named=True):
        risk = [i for i, n in enumerate(names) if row["at_risk"] is None or n in row["at_risk"]]

        def survival(t, risk=risk):
            return np.exp(-sum((t / scales[i]) ** shapes[i] for i in risk))

        weight = dict.fromkeys(risk, 1.0)
        if row["candidates"] is not None:
            weights = row["weights"] or [1.0] * len(row["candidates"])
            weight = {names.index(c): w for c, w in zip(row["candidates"], weights, strict=True)}

        def density(t, weight=weight, survival=survival):
            return survival(t) * sum(w * hazard(t, shapes[i], scales[i]) for i, w in weight.items())

        if row["high"] is None:
            chance = survival(row["low"])
        elif row["high"] == row["low"]:
            chance = density(row["low"])
        else:
            chance = quad(density, row["low"], row["high"], epsabs=0, epsrel=1e-11, limit=400)[0]
        known = 0.0 if row["known_by"] is None else survival(row["known_by"])
        total += row["count"] * (np.log(chance) - np.log(survival(row["entry"]) - known))
    return total


MIXED = masked(
    [
        (0.0, 3.0, 3.0, None, 1.0, ["C1", "C2"]),
        (0.0, 0.0, 4.0, None, 2.0, ["C1", "C3"]),
        (1.0, 2.0, 5.0, None, 1.5, ["C2"]),
        (1.0, 2.5, 6.0, 9.0, 1.0, None),
        (0.0, 4.0, 4.5, 8.0, 1.0, ["C1", "C2"]),
        (2.0, 6.0, 6.0, 7.0, 1.0, ["C3"]),
        (0.5, 7.0, None, None, 3.0, None),
        (3.0, 7.5, None, None, 1.0, None),
        (3.0, 5.0, 8.0, None, 1.0, ["C1"]),
    ],
    weights=[[1.0, 3.0], None, None, None, [0.25, 2.0], None, None, None, None],
    at_risk=[None] * 7 + [["C2", "C3"], ["C1", "C3"]],
)


@pytest.mark.parametrize(
    "shapes", [(1.0, 1.0, 1.0), (2.7, 2.7, 2.7), (0.4, 1.7, 3.1), (0.7, 5.0, 12.0)]
)
def test_likelihood_is_the_integral_it_stands_for(shapes):
    names, scales = ["C1", "C2", "C3"], (6.0, 9.0, 7.0)
    rows = read_masked(MIXED, names)
    wanted = by_brute_force(MIXED, names, shapes, scales)
    for own in (True, False):
        if not own and len(set(shapes)) > 1:
            continue
        law = LifeLaw(rows, own=own, pull=0.0)
        log_shapes = np.log(shapes if own else shapes[:1])
        rate = (rows.unit / np.array(scales)) ** np.array(shapes)
        z = np.concatenate([log_shapes, rate * law.exposure(np.exp(log_shapes))[0]])
        assert law(z)[0] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize("pull", [0.0, 1.5])
@pytest.mark.parametrize("own", [True, False, None])
def test_slopes_are_the_slopes(own, pull):
    rows = read_masked(MIXED, ["C1", "C2", "C3"])
    law = ShareLaw(rows, pull=pull) if own is None else LifeLaw(rows, own=own, pull=pull)
    z = np.concatenate([np.linspace(0.3, 1.1, law.shapes), [1.1, 2.3, 0.7]])
    slope = law(z)[1]
    for i in range(len(z)):
        step = np.zeros(len(z))
        step[i] = 1e-6
        rise = (law(z + step)[0] - law(z - step)[0]) / 2e-6
        assert slope[i] == pytest.approx(rise, rel=1e-6, abs=1e-7)


def test_limits_are_where_the_profile_has_fallen(guo):
    """The share's limits, reckoned anew: shares alone, by a fine grid over the other two."""
    fit = fit_causes(guo, shape="shared", limits=("share",))
    sets = guo["candidates"].list.join("").value_counts()
    which, count = sets["candidates"].to_list(), sets["count"].to_numpy()
    drop = 3.841458820694124 / 2.0

    def height(s, split):
        part = {"1": s, "2": (1.0 - s) * split, "3": (1.0 - s) * (1.0 - split)}
        return sum(
            n * np.log(sum(part[c] for c in name)) for name, n in zip(which, count, strict=True)
        )

    splits = np.linspace(1e-4, 1.0 - 1e-4, 20_001)
    best = height(fit["share"][0], fit["share"][1] / (1.0 - fit["share"][0]))
    for end in ("share_low", "share_high"):
        assert best - height(fit[end][0], splits).max() == pytest.approx(drop, rel=1e-6)


def test_limits_of_ages_hold_when_shapes_are_apart(guo):
    """At each limit of B10 another search, with that B10 held, ends a drop below the top."""
    from scipy.optimize import minimize

    fit = fit_causes(guo, shape="own", limits=("b10",))
    law = LifeLaw(read_masked(guo, None), own=True, pull=0.0)
    target = fit["log_likelihood"][0] - 3.841458820694124 / 2.0
    for end in ("b10_low", "b10_high"):
        age = fit[end][0] / law.rows.unit

        def down(x, age=age):
            shapes = np.exp(np.array([x[0], x[1], x[2]]))
            exposure = law.exposure(shapes)[0]
            first = -np.log(0.9) * age ** -shapes[0] * exposure[0]
            return -law(np.concatenate([x[:3], [first], np.exp(x[3:])]))[0]

        options = {"xatol": 1e-9, "fatol": 1e-11, "maxiter": 20_000, "maxfev": 20_000}
        found = minimize(down, [0.2, 0.1, 0.1, 2.3, 2.4], method="Nelder-Mead", options=options)
        assert -found.fun == pytest.approx(target, abs=1e-6)


def test_units_of_age_and_counts_change_nothing(guo):
    years = guo.with_columns(pl.col("low", "high") / 365.25)
    one, other = fit_causes(guo), fit_causes(years)
    assert (other["scale_high"] * 365.25).to_list() == pytest.approx(one["scale_high"], rel=1e-6)
    assert other["share"].to_list() == pytest.approx(one["share"], rel=1e-7)
    doubled = fit_causes(pl.concat([guo, guo]), limits=())
    counted = fit_causes(guo.with_columns(count=pl.lit(2.0)), limits=())
    assert doubled["scale"].to_list() == pytest.approx(counted["scale"], rel=1e-7)
    assert doubled["failures"].sum() == pytest.approx(60.0)


def test_never_suspected_has_a_lower_limit_only():
    lives = exact((3, "1"), (4, "1"), (5, "12"), (6, "2"), (7, "1"))
    names = pl.DataFrame({"position": ["1", "2", "9"]})
    row = fit_causes(lives, positions=names).row(2, named=True)
    assert row["named"] == row["failures"] == row["share"] == row["share_low"] == 0.0
    assert not row["exists"]
    assert row["scale"] is row["scale_high"] is None
    assert "no failure was put down to it" in row["reason"]
    # five failures elsewhere: (1 - s)^5 has fallen by the drop
    assert row["share_high"] == pytest.approx(1.0 - np.exp(-3.841458820694124 / 10.0), rel=1e-7)
    assert 0.0 < row["scale_low"] < 100.0


def test_suspected_but_explained_by_others_is_none():
    """{1} and {1, 2} only: Miyakawa's formula gives position 2 no failure."""
    fit = fit_causes(exact((3, "1"), (4, "12"), (5, "12"), (8, "1")), shape=2.0)
    assert fit["failures"].to_list() == pytest.approx([4.0, 0.0], abs=1e-8)
    assert fit["share_low"][1] == 0.0
    assert 0.5 < fit["share_high"][1] < 1.0
    assert not fit["exists"][1]
    assert "others explain" in fit["reason"][1]


def test_always_together_is_one_row():
    fit = fit_causes(exact((3, "12"), (4, "12"), (5, "3"), (8, "123")))
    assert fit["position"].to_list() == ["1;2", "3"]
    assert fit["positions"].to_list() == [2.0, 1.0]
    assert "cannot be told apart" in fit["reason"][0]
    assert fit["share"].to_list() == pytest.approx([2 / 3, 1 / 3])
    assert fit["alone"].to_list() == [0.0, 1.0]


def test_suspicions_that_go_round_in_a_ring_settle_no_share():
    """{1,2} {2,3} {3,4} {4,1}: adding to 1 and 3 what 2 and 4 lose changes nothing."""
    fit = fit_causes(exact((3, "12"), (4, "23"), (5, "34"), (8, "14")), limits=("share",))
    assert fit["share"].to_list() == [None] * 4
    assert "only limits" in fit["reason"][0]
    assert all(0.0 == low < high < 1.0 for low, high in fit["share_low", "share_high"].rows())


def test_no_failure_gives_the_boards_lower_limits(make_lives):
    lives = make_lives([(0.0, 9.0), (0.0, 12.0), (4.0, 15.0)])
    board = fit_weibull(lives)
    none = pl.lit(None, pl.List(pl.String)).alias("candidates")
    names = pl.DataFrame({"position": ["C1", "C2"]})
    fit = fit_causes(lives.with_columns(none), positions=names)
    assert fit["scale_low"].to_list() == pytest.approx([board["scale_low"][0]] * 2)
    assert fit["share"].to_list() == [None, None]
    assert fit["exists"].to_list() == [False, False]
    assert "only a lower limit" in fit["reason"][0]


def test_one_failure_still_has_shares_but_no_life():
    names = pl.DataFrame({"position": ["C1", "C2", "C3"]})
    lives = masked([(0.0, 8.0, 8.0, None, 1.0, ["C2"]), (0.0, 5.0, None, None, 4.0, None)])
    plain = fit_causes(lives, positions=names)
    assert plain["share"].to_list() == pytest.approx([0.0, 1.0, 0.0])
    assert plain["scale"].to_list() == [None] * 3
    assert "no life outlasts" in plain["reason"][1]
    pulled = fit_causes(lives, positions=names, pull=1.0)
    # one failure and a third of one for each of the three
    assert pulled["share"].to_list() == pytest.approx([1 / 6, 4 / 6, 1 / 6], rel=1e-6)
    assert pulled["share_low"][1] < 1 / 3 < pulled["share_high"][1]


def test_a_last_failure_that_may_be_anyones_gives_no_own_shapes():
    lives = exact((3, "1"), (4, "12"), (5, "2"), (6, "1"), (9, "13"))
    fit = fit_causes(lives, shape="own", limits=())
    assert fit["shape"].drop_nulls().n_unique() == 1
    assert "the last failure of all could be 3's" in fit["reason"][0]
    shared = fit_causes(lives, shape="shared", limits=())
    assert fit["scale"].to_list() == shared["scale"].to_list()


def test_own_shapes_are_tried_where_each_position_has_ten_failures():
    rng = np.random.default_rng(5)
    ages = np.stack([10 * rng.weibull(4.0, 60), 12 * rng.weibull(1.2, 60)])
    lives = exact(*((t, "12"[k]) for t, k in zip(ages.min(0), ages.argmin(0), strict=True)))
    fit = fit_causes(lives, limits=("shape",))
    assert fit["shape"][0] > 2.0 > fit["shape"][1]
    few = fit_causes(lives.head(15), limits=())
    assert few["shape"].n_unique() == 1


def test_positions_that_are_watched_alone():
    """A renewed position leaves the others: rows at risk for some add what the others lived."""
    lives = masked(
        [
            (0.0, 6.0, 6.0, None, 1.0, ["C1"]),
            (0.0, 7.0, 7.0, None, 1.0, ["C2"]),
            (0.0, 5.0, None, None, 3.0, None),
            (6.0, 9.0, None, None, 1.0, None),
        ],
        at_risk=[None, None, None, ["C2"]],
    )
    fit = fit_causes(lives, shape=2.0, limits=())
    seen = 6.0**2 + 7.0**2 + 3 * 5.0**2
    by_hand = [np.sqrt(seen / 1.0), np.sqrt((seen + 9.0**2 - 6.0**2) / 1.0)]
    assert fit["scale"].to_list() == pytest.approx(by_hand, rel=1e-8)


def test_large_tables_read_shares_off_who_failed(monkeypatch):
    """What positions lived alone then moves their ages, and no share."""
    boards = exact((3, "1"), (4, "12"), (5, "2"), (6, "1"), (9, "13"))
    alone = masked([(3.0, 8.0, None, None, 1.0, None)], at_risk=[["2"]])
    lives = pl.concat([boards, alone], how="diagonal")
    exactly = fit_causes(lives, shape="shared", limits=())
    monkeypatch.setattr("fleet.fits.masked.group.LARGE", 3)
    large = fit_causes(lives, shape="shared", limits=())
    assert large["share"].to_list() == pytest.approx(fit_causes(boards, limits=())["share"])
    assert large["scale"].to_list() == exactly["scale"].to_list()
    assert exactly["share"][1] < large["share"][1]


def test_weights_are_likelihoods_of_what_is_known():
    """One failure of 1, one of 2, and one three times likelier 1's: shares from s = 1.5 + ..."""
    lives = masked(
        [(0.0, t, t, None, 1.0, list(c)) for t, c in ((3.0, "1"), (4.0, "2"), (5.0, "12"))],
        weights=[None, None, [3.0, 1.0]],
    )
    fit = fit_causes(lives, shape=1.0, limits=())
    s = fit["share"][0]
    assert s == pytest.approx((1.0 + 3.0 * s / (3.0 * s + 1.0 - s)) / 3.0, rel=1e-8)
    scaled = lives.with_columns(pl.col("weights").list.eval(pl.element() * 7.0))
    assert fit_causes(scaled, shape=1.0, limits=())["share"][0] == pytest.approx(s, rel=1e-8)


def test_groups_are_fitted_each_alone(guo):
    both = pl.concat([guo.with_columns(model=pl.lit(m)) for m in ("A", "B")])
    few = both.filter((pl.col("model") == "A") | (pl.col("low") < 400.0))
    fit = fit_causes(few, by=["model"], limits=())
    assert fit.columns[0] == "model"
    assert fit.filter(model="A").drop("model").equals(fit_causes(guo, limits=()))


@pytest.mark.parametrize("shape", ["shared", "own"])
def test_truth_comes_back_from_many_masked_failures(shape):
    """1,500 boards watched 1 to 12 years, half the culprits hidden among two or three."""
    rng = np.random.default_rng(11)
    n, scales = 1500, np.array([11.0, 14.0, 18.0])
    shapes = np.full(3, 3.0) if shape == "shared" else np.array([4.0, 2.0, 3.0])
    ages = scales * rng.weibull(shapes, size=(n, 3))
    entry, end = rng.uniform(0.0, 4.0, n), rng.uniform(5.0, 12.0, n)
    rows = []
    for age, start, stop in zip(ages, entry, end, strict=True):
        t, culprit = age.min(), int(age.argmin())
        if t <= start:
            continue
        if t > stop:
            rows.append((start, stop, None, None, 1.0, None))
            continue
        hidden = rng.random() < 0.5
        others = [k for k in range(3) if k != culprit and hidden and rng.random() < 0.6]
        suspects = [f"C{k + 1}" for k in sorted([culprit, *others])]
        low = max(start, np.floor(t * 2.0) / 2.0) if hidden else t
        high = np.floor(t * 2.0) / 2.0 + 0.5 if hidden else t
        rows.append((start, low, high, None, 1.0, suspects))
    fit = fit_causes(masked(rows), shape=shape, limits=("scale", "shape"), level=0.999)
    for name, truth in (("scale", pl.Series(scales)), ("shape", pl.Series(shapes))):
        assert (fit[f"{name}_low"] < truth).all()
        assert (truth < fit[f"{name}_high"]).all()
        assert (fit[f"{name}_high"] / fit[f"{name}_low"]).max() < 2.1
    assert fit["scale"].to_list() == pytest.approx(scales, rel=0.06)


@pytest.mark.slow
@pytest.mark.parametrize("failures", [12, 40])
def test_limits_of_a_share_hold(failures):
    """90 % limits on 400 drawn sets of failures, a third of which name all three positions."""
    rng = np.random.default_rng(failures)
    truth = {"1": 0.6, "2": 0.3, "3": 0.1}
    inside = told = 0
    for _ in range(400):
        culprits = rng.choice(list(truth), size=failures, p=list(truth.values()))
        names = ["123" if rng.random() < 1 / 3 else str(c) for c in culprits]
        lives = exact(*((float(i + 1), c) for i, c in enumerate(names)))
        positions = pl.DataFrame({"position": list(truth)})
        fit = fit_causes(lives, positions=positions, shape=2.0, level=0.9, limits=("share",))
        for name, low, high in fit["position", "share_low", "share_high"].rows():
            share = sum(truth[n] for n in name.split(";"))
            inside += low <= share <= high
            told += 1
    # 400 sets: two standard errors of 0.9 are 0.03; a small count moves in steps
    assert 0.87 < inside / told < 0.95


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda f: f.drop("candidates"), "no column candidates"),
        (lambda f: f.with_columns(pl.lit("C1").alias("candidates")), "it should be List"),
        (lambda f: f.with_columns(candidates=pl.lit([], dtype=pl.List(pl.String))), "without a"),
        (lambda f: f.with_columns(weights=pl.lit([1.0], dtype=pl.List(pl.Float64))), "one weight"),
        (lambda f: f.with_columns(at_risk=pl.lit(["1"])), "row 3 of .* suspects a position"),
    ],
)
def test_faulty_lists_are_named(change, words):
    lives = exact((3, "1"), (4, "1"), (5, "12"))
    with pytest.raises(BadFrame, match=words):
        fit_causes(change(lives))


def test_faulty_settings_are_named():
    lives = exact((3, "1"), (4, "1"), (5, "12"))
    with pytest.raises(BadFrame, match="names 2, which is no position"):
        fit_causes(lives, positions=pl.DataFrame({"position": ["1"]}))
    with pytest.raises(BadFrame, match="no column model"):
        fit_causes(lives, by=["model"])
    with pytest.raises(BadInput, match="shape can be"):
        fit_causes(lives, shape="steep")
    with pytest.raises(BadInput, match="pull"):
        fit_causes(lives, pull=-1.0)
