"""Curves of many lives with few intervals: the same steps and limits without the whole matrix."""

import numpy as np
import polars as pl
import pytest

from fleet.fits import curve
from fleet.fits.curves.cells import find_cells
from fleet.fits.curves.few_windows import FewWindows, few_windows, variance_of_sums
from fleet.fits.curves.hazard_newton import maximise
from fleet.fits.curves.linked import free_reach, pinned
from fleet.fits.curves.windows import Bend, Problem, Windows
from fleet.fits.rows import cut_rows
from fleet.frames import LIFE


def found_at_checks(lives, *, seed, intervals):
    """Lives entered late, part of their failures known only to a year between two looks."""
    rng = np.random.default_rng(seed)
    age = 18.0 * rng.weibull(3.0, 4 * lives)
    entry = rng.uniform(0.0, 20.0, 4 * lives)
    end = entry + rng.uniform(1.0, 14.0, 4 * lives)
    age, entry, end = (x[age > entry][:lives].round(3) for x in (age, entry, end))
    failed, unseen = age < end, rng.random(len(age)) < intervals
    low = np.where(failed, np.where(unseen, np.maximum(age - 0.5, entry), age), end)
    high = np.where(failed, np.where(unseen, age + 0.5, age), np.nan)
    table = {"entry": entry, "low": low, "high": high, "count": np.ones(len(age))}
    frame = pl.DataFrame(table).with_columns(
        pl.col("high").fill_nan(None), known_by=pl.lit(None, pl.Float64)
    )
    return frame.filter(pl.col("low") > pl.col("entry")).select(LIFE.names())


def at_maximum(lives):
    problem = Problem(find_cells(cut_rows(lives, ())))
    a = maximise(problem)
    return problem, a, Bend.at(problem, a, np.flatnonzero(a > 0.0))


def bend_of(size, windows, alone):
    """A bend of windows: first cell, one past the last, weight."""
    start, end, weight = (np.array(x) for x in zip(*windows, strict=True))
    own = Windows(start=start, end=end, sure=np.zeros(len(start), dtype=bool), weight=weight)
    none = own.rows(own.sure)
    return Bend(size=size, alone=np.array(alone), parts=((own, weight), (none, none.weight)))


@pytest.mark.parametrize("seed", range(4))
def test_what_is_left_of_cells_given_up_is_no_mass(seed):
    # such dust stood for hundreds of cells that could move, and no survival was given
    problem, a, _ = at_maximum(found_at_checks(800, seed=seed, intervals=0.05))
    slope = problem.slope(a)
    assert (a > 0.0).sum() > 200
    assert np.abs(slope[a > 0.0]).max() < 1e-6 * problem.lives
    assert problem.excess(a, slope) < 1e-10


def test_survival_of_many_lives_is_settled():
    found = curve(found_at_checks(800, seed=0, intervals=0.05))
    assert found.points["survival"].null_count() == 0
    assert not any("several curves" in note for note in found.notes)


def test_steps_are_those_of_the_whole_matrix():
    _, _, bend = at_maximum(found_at_checks(800, seed=2, intervals=0.2))
    assert few_windows(bend)
    assert (bend.alone > 0.0).all()
    rng = np.random.default_rng(4)
    free, right = rng.random(bend.size) < 0.8, rng.normal(size=bend.size)
    size = 1.0 / np.sqrt(bend.diagonal())
    scaled = bend.matrix() * size * size[:, None]
    solver = FewWindows(bend, size)
    expected = np.linalg.solve(scaled[np.ix_(free, free)], right[free])
    assert solver.solve(right, free) == pytest.approx(expected, rel=1e-8, abs=1e-12)
    assert solver.times(right) == pytest.approx(scaled @ right, rel=1e-9, abs=1e-12)


def test_variances_are_those_of_the_whole_matrix():
    _, _, bend = at_maximum(found_at_checks(800, seed=3, intervals=0.4))
    ones = np.triu(np.ones((bend.size, bend.size)))
    expected = (ones * np.linalg.solve(bend.matrix(), ones)).sum(axis=0)
    assert variance_of_sums(bend) == pytest.approx(expected, rel=1e-9)


def test_what_no_window_ties_to_the_start_moves_freely():
    # cells 0 and 1 only together, 2 by itself: the age between 0 and 1 is not told
    bend = bend_of(3, [(0, 2, 4.0)], [0.0, 0.0, 1.0])
    assert free_reach(bend) == pytest.approx([1.0 / np.sqrt(8.0), 0.0, 0.0])


def test_what_moves_freely_is_tied_down_without_a_change_to_the_rest():
    bend = bend_of(4, [(0, 2, 4.0), (1, 4, 2.0)], [0.0, 0.0, 1.0, 0.0])
    assert (free_reach(bend) > 0.0).tolist() == [True, False, False, True]
    ones = np.triu(np.ones((4, 4)))
    variance = (ones * np.linalg.solve(pinned(bend).matrix(), ones)).sum(axis=0)
    assert variance[1:3] == pytest.approx([1.0 / 4.0, 1.0 / 4.0 + 1.0])


def test_with_every_cell_tied_nothing_moves():
    _, _, bend = at_maximum(found_at_checks(300, seed=5, intervals=0.3))
    assert not free_reach(bend).any()
    assert pinned(bend) is bend
