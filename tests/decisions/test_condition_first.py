"""What a reading is worth, worked by hand."""

import pytest

from fleet.decisions.condition_first import Reading, worth_of_reading
from fleet.errors import BadInput


def test_bayes_by_hand():
    # of 100 machines 20 fail: 16 of them read bad, and 8 of the 80 others
    reading = Reading(sensitivity=0.8, specificity=0.9, within=2.0)
    assert reading.bad(0.2) == pytest.approx(0.24)
    assert reading.after(0.2, bad=True) == pytest.approx(16 / 24)
    assert reading.after(0.2, bad=False) == pytest.approx(4 / 76)
    assert reading.after(0.0, bad=True) == 0.0


def decided(reading, **given):
    usual = {"chance": 0.2, "recap": 40.0, "recap_open": 30.0, "fails": 160.0, "lasts": 10.0}
    return worth_of_reading(reading, **usual | {"costs": 8.0} | given)


def test_a_reading_that_changes_the_decision_is_worth_measuring():
    found = decided(Reading(sensitivity=0.8, specificity=0.9, within=2.0))
    # leaving it costs 0.2 * 160 + 0.8 * 10 = 40, as much as a recap now; after a bad reading the
    # recap costs 30, after a good one leaving 4/76 * 160 + 72/76 * 10 = 17.89
    assert found.leave == pytest.approx(40.0)
    assert found.worth == pytest.approx(40.0 - (0.24 * 30.0 + 0.76 * 17.894736842105263))
    assert found.changes
    assert found.measure
    assert not decided(Reading(sensitivity=0.8, specificity=0.9, within=2.0), costs=20.0).measure


def test_a_reading_that_tells_nothing_is_worth_nothing_but_the_open_machine():
    blind = Reading(sensitivity=0.5, specificity=0.5, within=2.0)
    found = decided(blind, recap_open=40.0)
    assert found.worth == pytest.approx(0.0)
    assert not found.changes
    assert not found.measure


def test_nothing_changes_where_the_answer_is_plain():
    reading = Reading(sensitivity=0.8, specificity=0.9, within=2.0)
    assert not decided(reading, chance=0.001).changes  # left alone whatever it reads
    assert not decided(reading, chance=0.95).changes  # renewed whatever it reads


@pytest.mark.parametrize(
    ("se", "sp", "within", "said"),
    [
        (1.2, 0.9, 2.0, "sensitivity is 1.2"),
        (0.7, -0.1, 2.0, "specificity is -0.1"),
        (0.4, 0.4, 2.0, "wrong way round"),
        (0.7, 0.9, 0.0, "above zero"),
    ],
)
def test_shares_that_cannot_be(se, sp, within, said):
    with pytest.raises(BadInput, match=said):
        Reading(sensitivity=se, specificity=sp, within=within)
