"""The quick solver's likelihood and its derivatives."""

import numpy as np
import pytest

from fleet.fits.likelihood import row_log_likelihood
from fleet.fits.rows import cut_rows
from fleet.fits.solver.exposure_table import tabulate
from fleet.fits.solver.newton import Source, sloped
from fleet.fits.solver.packed import pack
from fleet.fits.solver.paths import LogAge


@pytest.fixture(scope="module")
def lives(random_groups):
    return random_groups(40, seed=11)


@pytest.fixture(scope="module")
def packed(lives):
    return pack(cut_rows(lives, ("g",)))


@pytest.fixture(scope="module")
def point(packed):
    rng = np.random.default_rng(5)
    b = np.exp(rng.uniform(-0.5, 1.5, (3, packed.groups)))
    return b, rng.uniform(-2.5, 0.5, (3, packed.groups))


def at(packed, b, c):
    return packed.derivatives(b, c, packed.exposure(b), packed.windows(b, c))


def test_value_is_the_sum_over_rows(lives, packed, point):
    b, c = (v[0] for v in point)
    scale = np.exp(packed.log_top - c / b)
    groups = lives["g"].unique(maintain_order=True).to_list()
    by_rows = [
        row_log_likelihood(lives.filter(g=g), shape=float(b[i]), scale=float(scale[i])).sum()
        for i, g in enumerate(groups)
    ]
    # an interval that fills its window says nothing, here as there
    np.testing.assert_allclose(at(packed, b[None], c[None]).value[0], by_rows, rtol=1e-10)


def test_slopes_and_curvatures_against_central_differences(packed, point):
    b, c = point
    h = 1e-5
    d = at(packed, b, c)
    up_b, down_b = at(packed, b + h, c), at(packed, b - h, c)
    up_c, down_c = at(packed, b, c + h), at(packed, b, c - h)
    size = 1.0 + np.abs(d.value)
    for ours, up, down in (
        (d.b, up_b.value, down_b.value),
        (d.c, up_c.value, down_c.value),
        (d.bb, up_b.b, down_b.b),
        (d.bc, up_b.c, down_b.c),
        (d.bc, up_c.b, down_c.b),
        (d.cc, up_c.c, down_c.c),
    ):
        scale = size + np.abs(ours)
        np.testing.assert_allclose(ours / scale, (up - down) / (2.0 * h) / scale, atol=1e-7)


def test_slopes_along_shape_and_age_against_central_differences(packed, point):
    b, c = point
    u, path, h = np.log(b), LogAge(log_h=np.log(0.3)), 1e-5
    a = path.value(b, c)
    exact = Source.exact(packed)

    def f(du, da):
        return sloped(packed, exact, path, u + du, a + da)

    d = f(0.0, 0.0)
    for ours, up, down in (
        (d.u, f(h, 0).value, f(-h, 0).value),
        (d.v, f(0, h).value, f(0, -h).value),
        (d.uu, f(h, 0).u, f(-h, 0).u),
        (d.uv, f(h, 0).v, f(-h, 0).v),
        (d.vv, f(0, h).v, f(0, -h).v),
    ):
        scale = 1.0 + np.abs(d.value) + np.abs(ours)
        np.testing.assert_allclose(ours / scale, (up - down) / (2.0 * h) / scale, atol=1e-6)


def test_tabulated_exposure_is_close_enough_for_a_last_newton_step(packed):
    middle = np.zeros(packed.groups)
    table = tabulate(packed, middle)
    u = np.linspace(-1.8, 1.5, 37)[:, None] + np.zeros(packed.groups)
    some = packed.moments[0].sum(axis=0) != 0.0
    exact, near = packed.exposure(np.exp(u))[:, :, some], table.at(u)[:, :, some]
    # terms cancel where lives were watched only briefly; such groups are solved without it
    steady = (np.abs(exact[0]) > 1e-3 * np.abs(packed.moments[0]).sum(axis=0)[some]).all(axis=0)
    assert steady.sum() > 20
    np.testing.assert_allclose(near[0][:, steady], exact[0][:, steady], rtol=1e-5)
