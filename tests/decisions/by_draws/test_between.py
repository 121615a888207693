"""Answers read off between a few places, against the answers themselves."""

import numpy as np
import pytest

from fleet.decisions.between import NEAR, between


def _answer(at):
    """Smooth in heat and in the log of hours, as a life is."""
    return 12.0 * 2.0 ** (-(at[:, 0] - 21.0) / 10.0) / (0.4 + 0.6 * np.exp(at[:, 1]) / 3000.0)


@pytest.fixture
def machines():
    rng = np.random.default_rng(4)
    return np.stack([rng.uniform(12, 32, 900), np.log(rng.uniform(300, 8000, 900))], axis=1)


@pytest.mark.parametrize("counted", [[0], [1], [0, 1]])
def test_smooth_answers_are_read_off(machines, counted):
    at = np.array([[20.0, 7.0]]).repeat(900, axis=0)
    at[:, counted] = machines[:, counted]
    read = between(at)
    got = read.answers(_answer(read.at), _answer(at[read.probes]))
    assert len(read.at) < 60
    np.testing.assert_allclose(got, _answer(at), rtol=NEAR)


def test_answers_with_a_jump_are_not_read_off(machines):
    read = between(machines)

    def jump(at):
        return np.where(at[:, 0] > 24.0, 1.5, 1.0) * _answer(at)

    assert read.answers(jump(read.at), jump(machines[read.probes])) is None


def test_never_here_and_an_age_there_is_not_read_off(machines):
    read = between(machines)

    def some_never(at):
        return np.where(at[:, 0] < 15.0, np.inf, _answer(at))

    assert read.answers(some_never(read.at), some_never(machines[read.probes])) is None


@pytest.mark.parametrize("same", [np.inf, np.nan])
def test_never_everywhere_and_unknown_everywhere(machines, same):
    read = between(machines)
    got = read.answers(np.full(len(read.at), same), np.full(read.probes.size, same))
    np.testing.assert_array_equal(got, np.full(900, same))


def test_few_units_and_units_all_alike_are_worked_out_one_by_one(machines):
    assert between(machines[:40]) is None
    assert between(np.ones((900, 2))) is None
