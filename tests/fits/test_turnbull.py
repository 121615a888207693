"""Turnbull's estimate: its optimality, plain arithmetic, and lives that settle nothing."""

import numpy as np
import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet.fits import curve
from fleet.fits.curves.cells import find_cells
from fleet.fits.curves.turnbull import npmle
from fleet.fits.rows import cut_rows
from fleet.frames import LIFE


@st.composite
def tables(draw, windows=("open", "above", "both")):
    """Small whole ages; each row exact, censored or an interval, its window open or closed."""
    rows = []
    for _ in range(draw(st.integers(2, 9))):
        window = draw(st.sampled_from(windows))
        entry = 0.0 if window == "above" else float(draw(st.integers(0, 4)))
        low = entry + draw(st.integers(1, 8))
        kind = draw(st.sampled_from(["exact", "interval", "first", "censored"]))
        high = {"exact": low, "censored": None, "interval": low + 2.0, "first": low}[kind]
        low = entry if kind == "first" else low
        closed = window != "open" and high is not None
        known = high + draw(st.integers(0, 4)) if closed else None
        rows.append((entry, low, high, known, float(draw(st.integers(1, 3)))))
    return pl.DataFrame(rows, schema=LIFE, orient="row")


def ranges(cells):
    """Each row as the cells it may end in and those of its window, the endless one last."""
    size = cells.size + cells.endless
    place = np.arange(size)
    last = np.where(cells.failed, cells.last, size)[:, None]
    known = np.where(cells.truncated, cells.known, size)[:, None]
    ends = (place >= cells.first[:, None]) & (place < last)
    return ends, (place >= cells.entered[:, None]) & (place < known)


def log_likelihood(mass, cells):
    ends, window = ranges(cells)
    with np.errstate(divide="ignore", invalid="ignore"):
        return float(cells.count @ (np.log(ends @ mass) - np.log(window @ mass)))


def self_consistent(cells, mass, steps):
    """Turnbull's own steps, in plain NumPy: slow and sure."""
    ends, window = ranges(cells)
    for _ in range(steps):
        known = np.maximum((cells.count / (window @ mass)) @ window, 1e-300)
        mass = np.maximum(mass * ((cells.count / (ends @ mass)) @ ends) / known, 1e-200)
        mass = mass / mass.sum()
    return mass


def own_mass(fit, cells):
    mass = -np.diff(np.concatenate(([1.0], fit.survival)))
    return np.append(mass, fit.survival[-1]) if cells.endless else mass


@settings(max_examples=150)
@given(tables())
def test_optimality_conditions_hold_for_any_truncation(lives):
    cells = find_cells(cut_rows(lives, ()))
    if cells.size == 0 or not cells.failed.any():
        return
    fit = npmle(cells)
    assert fit.excess < 1e-8
    if (
        fit.vanished
        or (fit.survival <= 0.0)[:-1].any()
        or (cells.endless and fit.survival[-1] == 0)
    ):
        return  # masses alone no longer tell what is held within the parts that vanish
    # the conditions again, from the masses and the definition
    mass = own_mass(fit, cells)
    ends, window = ranges(cells)
    failed = (ends @ mass) > 0.0
    slope = (cells.count[failed] / (ends @ mass)[failed]) @ ends[failed]
    slope = slope - (cells.count[failed] / (window @ mass)[failed]) @ window[failed]
    assert np.abs(slope * mass).max() < 1e-7 * cells.count.sum()
    assert slope.max() < 1e-5 * cells.count.sum()


@settings(max_examples=30)
@given(tables())
def test_no_self_consistent_climb_ends_higher(lives):
    cells = find_cells(cut_rows(lives, ()))
    if cells.size == 0 or not cells.failed.any():
        return
    fit = npmle(cells)
    if (
        fit.vanished
        or (fit.survival <= 0.0)[:-1].any()
        or (cells.endless and fit.survival[-1] == 0)
    ):
        return
    best = log_likelihood(own_mass(fit, cells), cells)
    size = cells.size + cells.endless
    for tilt in (0.0, 1.0, -1.0):
        start = np.exp(np.linspace(0.0, tilt, size))
        assert log_likelihood(self_consistent(cells, start, 300), cells) <= best + 1e-9


def test_double_truncation_against_slow_steps(make_lives):
    # every failure overlaps the next one's window in both directions: a maximum exists
    rows = [(0.0, 2.0, 2.0, 6.0), (1.0, 4.0, 4.0, 7.0), (1.0, 3.0, 3.0, 5.0), (2.0, 6.0, 6.0, 8.0)]
    rows += [(0.0, 5.0, 5.0, 7.0), (1.0, 7.0, 7.0, 9.0), (3.0, 4.0, 4.0, 8.0)]
    cells = find_cells(cut_rows(make_lives(rows), ()))
    fit = npmle(cells)
    slow = self_consistent(cells, np.full(cells.size, 1.0 / cells.size), 20_000)
    assert not fit.vanished
    assert not fit.open_at.any()
    assert fit.survival == pytest.approx(1.0 - np.cumsum(slow), abs=1e-9)


def test_right_truncation_is_a_product_in_reverse_time(make_lives):
    # F(x) / F(6) = product over failures u > x of 1 - d / (number with x_j <= u <= v_j):
    # at 5: 1 of 2 at risk (the rows known by 6); at 3: 1 of 3; at 2: 1 of 2; at 1: 1 of 1
    rows = [(0.0, 1.0, 1.0, 4.0), (0.0, 2.0, 2.0, 6.0), (0.0, 3.0, 3.0, 4.0), (0.0, 5.0, 5.0, 6.0)]
    points = curve(make_lives(rows)).points
    below = {5.0: 1 / 2, 3.0: 1 / 2 * 2 / 3, 2.0: 1 / 2 * 2 / 3 * 1 / 2}
    want = [1.0 - below[2.0], 1.0 - below[3.0], 1.0 - below[5.0], 0.0]
    assert points["survival"].to_list() == pytest.approx([1.0, *want])


def test_failures_known_only_beside_each_other_have_no_best_curve(make_lives):
    # 1 and 1.5 are seen only by 2, all later ones look back on them without seeing any
    rows = [(0.0, 1.0, 1.0, 2.0), (0.0, 1.5, 1.5, 2.0), (0.0, 5.0, 5.0, 9.0), (0.0, 8.0, 8.0, 9.0)]
    result = curve(make_lives(rows), unit="years")
    assert result.points["survival"].to_list() == pytest.approx([1.0, 1.0, 1.0, 0.5, 0.0])
    said = [note for note in result.notes if "There is no best curve" in note]
    assert "age 1.5 years" in said[0]
    assert not result.points.filter(pl.col("age") <= 1.5)["supported"].any()


def test_parts_that_are_never_compared_get_no_survival_between(make_lives):
    # failures at 1 and 2 within (0, 3], at 6 and 7 within (5, 8]: how many fail by 3 is open
    rows = [(0.0, 1.0, 1.0, 3.0), (0.0, 2.0, 2.0, 3.0), (5.0, 6.0, 6.0, 8.0), (5.0, 7.0, 7.0, 8.0)]
    result = curve(make_lives(rows))
    inside = result.points.filter(pl.col("age").is_between(1.0, 6.0))
    assert inside["survival"].null_count() == inside.height
    assert not result.points["supported"][1:].any()
    assert (result.points["survival"][0], result.points["survival"][-1]) == (1.0, 0.0)
    assert any("several curves fit equally well" in note for note in result.notes)


def test_a_failure_that_may_lie_in_either_cell_is_said_to_be_open(make_lives):
    result = curve(make_lives([(0.0, 0.0, 2.0), (1.0, 2.0, 2.0)]))
    assert result.points["survival"].to_list() == [1.0, None, 0.0]
    assert "do not settle" in result.notes[0]


@given(tables(windows=("open",)))
def test_windows_that_end_after_every_failure_change_nothing(lives):
    """In a table of failures alone: all of them fail by the last cell in any case."""
    failed = lives.filter(pl.col("high").is_not_null())
    if failed.is_empty():
        return
    far = failed.with_columns(known_by=pl.lit(1e6))
    one, other = curve(failed, method="turnbull").points, curve(far).points
    for age, survival in one.select("age", "survival").rows():
        got = other.filter(pl.col("age") <= age)["survival"][-1]
        if survival is not None and got is not None:
            assert got == pytest.approx(survival, abs=1e-6)


def test_limits_without_windows_are_greenwoods(make_lives):
    rows = [(0.0, 1.0, 1.0), (0.0, 2.0, None), (1.0, 3.0, 3.0), (0.0, 4.0, 4.0), (2.0, 5.0, None)]
    km, other = curve(make_lives(rows)).points, curve(make_lives(rows), method="turnbull").points
    for side in ("survival_low", "survival_high"):
        assert other[side].to_numpy() == pytest.approx(km[side].to_numpy(), abs=1e-9, nan_ok=True)


def test_a_curve_at_0_is_not_followed_by_the_end_of_an_interval(make_lives):
    # the failure in (3, 9] is put at 4; nobody was watched after it
    points = curve(make_lives([(0.0, 3.0, 9.0), (0.0, 4.0, 4.0), (0.0, 2.0, 2.0)])).points
    assert points["age"][-1] == 4.0
    assert points["survival"][-1] == 0.0


@pytest.mark.parametrize("adult", ["0", "1"])
def test_transfusion_data_in_reverse_time(reference, adult):
    """Published sets: `npmle_conditional`, F(t) = P(T <= t | T <= longest)."""
    want = reference.expected["aids"]["fits"][f"adult={adult}"]["npmle_conditional"]
    lives, _ = reference.lives("aids", f"adult={adult}")
    points = curve(lives).points
    assert want
    for row in want if isinstance(want, list) else want["at"]:
        got = points.filter(pl.col("age") <= row["age"])["survival"][-1]
        assert 1.0 - got == pytest.approx(row["F"], abs=1e-9)
