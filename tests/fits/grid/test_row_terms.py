"""Likelihood terms on a grid against the definition, row by row and without any shortcut."""

import math

import numpy as np
import polars as pl
import pytest
from scipy import integrate

from fleet.fits import row_log_likelihood
from fleet.fits.grid import row_terms
from fleet.fits.grid.forgetting import forgetting_terms
from fleet.fits.grid.row_terms import add_by_cell, log_failed, mixed_terms, plain_terms
from fleet.fits.grid.stress import NODE_WEIGHTS
from fleet.frames import LIFE

SHAPES = np.array([0.6, 1.0, 2.7, 4.5])
SCALES = np.array([9.0, 15.0, 40.0])
FACTORS = [0.6, 0.75, 0.9, 1.0, 1.2, 1.5, 1.9]  # one for each node of what is blank
KINDS = {
    "exact": {"low": 9.0, "high": 9.0},
    "exact, entered late": {"entry": 4.0, "low": 9.0, "high": 9.0},
    "still good": {"low": 12.0},
    "still good, entered late": {"entry": 5.0, "low": 12.0},
    "interval": {"low": 6.0, "high": 8.5},
    "interval from new": {"low": 0.0, "high": 3.0},
    "interval, entered late": {"entry": 4.0, "low": 6.0, "high": 8.5},
    "failed before the first look": {"entry": 4.0, "low": 4.0, "high": 7.0},
    "known because it failed": {"low": 9.0, "high": 9.0, "known_by": 14.0},
    "known since some age": {"entry": 3.0, "low": 9.0, "high": 9.0, "known_by": 14.0},
    "known, interval": {"entry": 3.0, "low": 7.0, "high": 9.0, "known_by": 14.0},
}
UNSURE = {
    "unknown cause": {"low": 9.0, "high": 9.0, "other_low": 10.0, "other_chance": 0.03},
    "unknown cause, late": {
        "entry": 4.0, "low": 6.0, "high": 8.0, "other_low": 8.0, "other_chance": 0.2,
    },
}  # fmt: skip


def _grid(scales=SCALES):
    return np.log(scales)[None, :]


def _by_the_book(small, rows, factors):
    """(shapes, scales): chances from new averaged over the nodes, row by row, then added up."""
    out = np.zeros((SHAPES.size, SCALES.size))
    for i, shape in enumerate(SHAPES):
        for j, scale in enumerate(SCALES):
            for row, own in zip(rows, factors, strict=True):
                weights = NODE_WEIGHTS if len(own) > 1 else [1.0]
                each = list(zip(weights, own, strict=True))
                ends, known = (
                    sum(w * chance(row, shape, scale * f) for w, f in each)
                    for chance in (small.ends, small.known)
                )
                out[i, j] += row.get("count", 1.0) * math.log(ends / known)
    return out


def _log_ages(rows):
    """What plain terms leave out: the density is there per step of log age."""
    exact = [r for r in rows if r.get("high") == r["low"]]
    return sum(r.get("count", 1.0) * math.log(r["low"]) for r in exact)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_row_is_the_one_likelihood(small, kind):
    row = KINDS[kind]
    found = plain_terms(small.evidence(row), np.zeros(1), SHAPES, _grid())[0]
    table = small.lives(row).select(LIFE.names())
    each = [[row_log_likelihood(table, k, s).sum() for s in SCALES] for k in SHAPES]
    assert found - _log_ages([row]) == pytest.approx(np.array(each), rel=1e-12, abs=1e-12)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_row_by_the_book(small, kind):
    row, factor = KINDS[kind], 1.7
    found = plain_terms(small.evidence(row), np.log([factor]), SHAPES, _grid())[0]
    wanted = _by_the_book(small, [row], [[factor]])
    assert found - _log_ages([row]) == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("kind", KINDS | UNSURE)
def test_blanks_are_averaged_over_what_they_may_be(small, kind):
    row, factors = (KINDS | UNSURE)[kind], FACTORS
    found = mixed_terms(small.evidence(row), np.log([factors]), SHAPES, _grid())[0]
    assert found == pytest.approx(_by_the_book(small, [row], [factors]), rel=1e-9, abs=1e-9)


def test_an_old_set_that_was_met_working_is_likely_a_cool_one(small):
    # met at 12 and still good at 12: nothing is learned of the scale, whatever is blank
    row = {"entry": 12.0, "low": 12.0}
    assert mixed_terms(small.evidence(row), np.log([FACTORS]), SHAPES, _grid()) == pytest.approx(0)
    # two more years are the likelier for those left than for a new one at the same age on average
    row = {"entry": 12.0, "low": 14.0}
    found = mixed_terms(small.evidence(row), np.log([FACTORS]), SHAPES, _grid())[0]
    naive = np.array(
        [
            [
                math.log(
                    sum(
                        w * math.exp(small.log_row(row, k, s * f))
                        for w, f in zip(NODE_WEIGHTS, FACTORS, strict=True)
                    )
                )
                for s in SCALES
            ]
            for k in SHAPES
        ]
    )
    assert np.all(found > naive)


def test_rows_of_all_kinds_together_in_two_cells_with_counts(small):
    rows = [{**row, "count": 0.5 + n} for n, row in enumerate(KINDS.values())]
    cell = [n % 2 for n in range(len(rows))]
    found = plain_terms(small.evidence(*rows, cell=cell), np.zeros(len(rows)), SHAPES, np.log(
        [SCALES, 2.0 * SCALES]
    ))  # fmt: skip
    for one, times in enumerate((1.0, 2.0)):
        mine = [row for row, c in zip(rows, cell, strict=True) if c == one]
        wanted = [
            [sum(r["count"] * small.log_row(r, k, times * s) for r in mine) for s in SCALES]
            for k in SHAPES
        ]
        assert found[one] - _log_ages(mine) == pytest.approx(np.array(wanted), rel=1e-9)


def test_plain_and_mixed_terms_are_one_likelihood(small):
    rows = list(KINDS.values())
    plain = plain_terms(small.evidence(*rows), np.zeros(len(rows)), SHAPES, _grid())
    mixed = mixed_terms(small.evidence(*rows), np.zeros((len(rows), 7)), SHAPES, _grid())
    assert plain - _log_ages(rows) == pytest.approx(mixed, rel=1e-12)


@pytest.mark.parametrize("at_once", [1, 40, 10**9])
def test_the_size_of_blocks_does_not_matter(small, monkeypatch, at_once):
    rows = [{**row, "count": 2.0} for row in (KINDS | UNSURE).values()] * 3
    cell = sorted(n % 4 for n in range(len(rows)))
    held = small.evidence(*rows, cell=cell)
    factors = np.log(np.linspace(0.5, 2.0, 7 * len(rows)).reshape(-1, 7))
    scales = np.log(np.linspace(5.0, 30.0, 20).reshape(4, 5))
    sure = ~held.unsure

    def both():
        plain = plain_terms(held.take(sure), factors[sure, 0], SHAPES, scales)
        return plain, mixed_terms(held, factors, SHAPES, scales)

    whole = both()
    monkeypatch.setattr(row_terms, "_AT_ONCE", at_once)
    for found, wanted in zip(both(), whole, strict=True):
        assert found == pytest.approx(wanted, rel=1e-13)


def test_a_cell_without_rows_has_a_flat_likelihood(small):
    held = small.evidence(KINDS["exact"], KINDS["interval"], cell=[1, 1], cells=3)
    found = plain_terms(held, np.zeros(2), SHAPES, np.tile(_grid(), (3, 1)))
    assert not found[[0, 2]].any()
    assert found[1].any()


def test_sums_by_cell():
    cell, values = np.array([0, 0, 2, 2, 2]), np.arange(10.0).reshape(5, 2)
    assert add_by_cell(cell, values, 4).tolist() == [[2, 4], [0, 0], [18, 21], [0, 0]]
    assert add_by_cell(cell[:0], values[:0], 2).tolist() == [[0, 0], [0, 0]]


def test_log_failed_is_right_near_nothing_and_far_out():
    # log((1 - exp(-x)) / x) = -x/2 + x^2/24 - ...; and far out 1 less almost nothing
    small, large = np.array([1e-300, 1e-12, 1e-5]), np.array([40.0, 500.0])
    wanted = np.log(small) - small / 2.0 + small**2 / 24.0
    assert log_failed(small) == pytest.approx(wanted, rel=1e-15)
    assert log_failed(large) == pytest.approx(-np.exp(-large), rel=1e-12)
    assert log_failed(np.array([0.0])) == -np.inf


ONE = np.zeros((1, 7))  # factors of 1 at every node of what is blank
FORGOTTEN = {"low": 9.0, "high": 9.0, "known_by": 21.0, "forgetful": True}


def _told(row, shape, scale, memory):
    """Log of what was told of a failure, less that of the chance to be told of, by quadrature."""
    known, entry = row["known_by"], row.get("entry", 0.0)

    def heard(age):
        x = (age / scale) ** shape
        return shape * x / age * math.exp(-x - (known - age) / memory)

    total = integrate.quad(heard, entry, known, epsabs=0.0, epsrel=1e-10, limit=200)[0]
    middle = (row["low"] + row["high"]) / 2.0
    return -(known - middle) / memory - math.log(total)


def test_who_forgets_nothing_is_known_as_others_are(small):
    # w = 1: the integral of the density over the window is P(entry < T <= known_by)
    row = {**FORGOTTEN, "entry": 2.0}
    alike = plain_terms(small.evidence({**row, "forgetful": False}), np.zeros(1), SHAPES, _grid())
    without = plain_terms(small.evidence(row), np.zeros(1), SHAPES, _grid())
    found = forgetting_terms(small.evidence(row), ONE, SHAPES, _grid(), np.array([np.inf]))
    assert without + found[0] == pytest.approx(alike, rel=1e-12)


@pytest.mark.parametrize("memory", [3.0, 6.0, 12.0])
@pytest.mark.parametrize(
    "row", [FORGOTTEN, {**FORGOTTEN, "entry": 5.0}, {**FORGOTTEN, "low": 7.0, "high": 11.0}]
)
def test_forgetting_against_quadrature(small, row, memory):
    found = forgetting_terms(small.evidence(row), ONE, SHAPES, _grid(), np.array([memory]))[0, 0]
    wanted = np.array([[_told(row, k, s, memory) for s in SCALES] for k in SHAPES])
    # ten steps of the window, each with the mean of the weights at its ends: the error is of the
    # second order in step / memory; of the first where the density is endless at age 0
    step = (row["known_by"] - row.get("entry", 0.0)) / 10.0
    assert np.abs(found - wanted)[1:].max() < 0.25 * (step / memory) ** 2
    assert np.abs(found - wanted)[0].max() < 0.15 * step / memory


def test_forgetting_far_below_the_scale(small):
    # survivals round to 1 there; the chance to be told of is the sum of w f all the same, and with
    # it every memory leaves a likelihood that does not depend on the scale any more
    far, steep = np.log([[1e3, 1e4, 1e5]]), np.array([3.0, 12.0])
    held = small.evidence(FORGOTTEN)
    for memory in (6.0, np.inf):
        terms = forgetting_terms(held, ONE, steep, far, np.array([memory]))[0]
        both = (terms + plain_terms(held, np.zeros(1), steep, far))[0]
        assert both[:, 1:] == pytest.approx(np.repeat(both[:, :1], 2, axis=1), abs=1e-5)
    # with w = 1 it is t f(t) / F(known_by) = shape (t / known_by)^shape
    wanted = np.log(steep) + steep * math.log(9.0 / 21.0)
    assert both[:, 2] == pytest.approx(wanted, abs=1e-9)


def test_forgetting_with_counts_cells_and_blanks(small):
    rows = [{**FORGOTTEN, "count": 2.0}, {**FORGOTTEN, "low": 5.0, "high": 6.0}]
    held, factors = small.evidence(*rows, cell=[0, 1]), np.log([FACTORS] * 2)
    scales = np.tile(_grid(), (2, 1))
    both = forgetting_terms(held, factors, SHAPES, scales, np.array([6.0]))[0]
    for place, row in enumerate(rows):
        alone = [
            forgetting_terms(
                small.evidence({**row, "count": 1.0}), ONE + f, SHAPES, _grid(),
                np.array([6.0]),
            )[0, 0]
            for f in factors[place]
        ]  # fmt: skip
        # the chance to be told of is averaged over what is blank; its weight has no blank in it
        told = -(row["known_by"] - (row["low"] + row["high"]) / 2.0) / 6.0
        heard = sum(w * np.exp(told - one) for w, one in zip(NODE_WEIGHTS, alone, strict=True))
        assert both[place] == pytest.approx(
            row.get("count", 1.0) * (told - np.log(heard)), rel=1e-9
        )


def test_no_forgetful_rows_no_terms(small):
    held = small.evidence(KINDS["exact"]).take(np.array([False]))
    found = forgetting_terms(held, np.zeros((0, 7)), SHAPES, _grid(), np.array([3.0, np.inf]))
    assert found.shape == (2, 1, SHAPES.size, SCALES.size)
    assert not found.any()


def test_arrays_of_evidence_are_in_units_of_the_origin(small):
    rows = (
        {"low": 10.0, "high": 10.0, "other_low": 12.0, "other_chance": 0.01},
        {"low": 4.0, "high": 8.0, "other_low": 8.0, "other_chance": 0.3},
    )
    held = small.evidence(*rows, origin=2.0, year=365.25)
    assert held.low.tolist() == [5.0, 2.0]
    assert held.other_low.tolist() == [6.0, 4.0]
    assert held.other_chance.tolist() == [0.02, 0.3]  # a rate a unit of age, and a chance
    assert held.origin_years == pytest.approx(2.0 / 365.25)
    assert held.failures == 2.0


def test_only_sets_known_because_they_failed_are_forgetful(small):
    rows = ({"low": 5.0, "forgetful": True}, FORGOTTEN)
    assert small.evidence(*rows).forgetful.tolist() == [False, True]


def test_rows_are_put_in_order_of_their_cells(small):
    held = small.evidence({"low": 1.0}, {"low": 2.0}, {"low": 3.0}, cell=[2, 0, 1])
    assert held.cell.tolist() == [0, 1, 2]
    assert held.low.tolist() == [2.0, 3.0, 1.0]
    assert pl.Series(held.entry).sum() == 0.0


@pytest.mark.parametrize("shapes", [SHAPES, np.array([0.4, 3.0, 17.0])])
@pytest.mark.parametrize("blank", ["heat", "use", "both"])
def test_rows_with_blanks_are_read_off_tables_as_one_by_one(monkeypatch, small, blank, shapes):
    rng = np.random.default_rng(7)
    kinds = [*KINDS.values(), *UNSURE.values()]
    rows = []
    for _ in range(300):
        heat, use = rng.uniform(15.0, 40.0), rng.uniform(500.0, 6000.0)
        rows.append(
            kinds[rng.integers(len(kinds))]
            | {"count": rng.uniform(0.2, 3.0), "ambient_c": heat if blank == "use" else None}
            | {"hours_per_year": use if blank == "heat" else None}
        )
    told = [{"low": 5.0, "ambient_c": t, "hours_per_year": 900.0 * (t - 15)} for t in (18.0, 31.0)]
    evidence = small.evidence(*rows, *told, cell=np.arange(302) // 101)
    factors = evidence.site.log_factors(0.9, 0.4)
    scales = np.log([[8.0, 11.0, 15.0, 20.0]]) + np.array([[0.0], [0.1], [0.2]])
    mine = evidence.mixed
    assert mine.sum() == 300
    quick = mixed_terms(evidence.take(mine), factors[mine], shapes, scales)
    monkeypatch.setattr(row_terms, "can_be_tabled", lambda rows: False)
    slow = mixed_terms(evidence.take(mine), factors[mine], shapes, scales)
    assert quick == pytest.approx(slow, rel=0.0, abs=1e-6 * evidence.count[mine].sum())
