import polars as pl
import pytest

from fleet.flow import at_risk
from fleet.frames import CURVE, LIFE


def lives(rows, **groups):
    frame = pl.DataFrame(
        [(e, low, high, None, c) for e, low, high, c in rows], schema=LIFE, orient="row"
    )
    return frame.with_columns(**{k: pl.lit(v) for k, v in groups.items()})


def curve(rows, **groups):
    frame = pl.DataFrame(
        [(a, r, f, s, s - 0.1, s + 0.1, 0.0, ok) for a, r, f, s, ok in rows],
        schema=CURVE,
        orient="row",
    )
    return frame.select(*[pl.lit(v).alias(k) for k, v in groups.items()], pl.all())


# Three sets watched from new and two that join at 4 years; failures at 3 and at 6 years.
LIVES = [(0, 3, 3, 1), (0, 6, 6, 1), (0, 9, None, 1), (4, 9, None, 1), (4, 5, None, 0.5)]
POINTS = [(3.0, 3, 1, 2 / 3, True), (6.0, 3, 1, 4 / 9, False)]


def test_counts_rise_with_late_entries_and_fall_with_ends():
    table = at_risk.at_risk_table(lives(LIVES), curve(POINTS), by=(), ages=[2, 4, 5, 6, 8])
    # A set counts at an age above its entry, up to and at its last: entry < age <= low.
    assert table["at_risk"].to_list() == [3, 2, 3.5, 3, 2]
    assert table["failures"].to_list() == [0, 1, 1, 2, 2]


def test_survival_is_one_before_the_first_failure_and_empty_where_not_supported():
    table = at_risk.at_risk_table(lives(LIVES), curve(POINTS), by=(), ages=[2, 4, 8])
    assert table["survival"].to_list() == [1.0, pytest.approx(2 / 3), None]
    assert table["survival_low"].to_list() == [None, pytest.approx(2 / 3 - 0.1), None]


def test_groups_are_kept_apart_in_the_order_of_the_curves():
    both_lives = pl.concat([lives(LIVES, model="B"), lives([(0, 7, None, 2)], model="A")])
    both_curves = pl.concat([curve(POINTS, model="B"), curve([(7.0, 2, 0, 1.0, True)], model="A")])
    table = at_risk.at_risk_table(both_lives, both_curves, by=["model"], ages=[2, 4])
    assert table.select("model", "age", "at_risk").rows() == [
        ("B", 2, 3),
        ("B", 4, 2),
        ("A", 2, 2),
        ("A", 4, 2),
    ]


def test_an_unknown_batch_is_a_group_too():
    unknown = lives([(0, 7, None, 2)]).with_columns(batch=pl.lit(None, pl.String))
    table = at_risk.at_risk_table(
        unknown, curve([(7.0, 2, 0, 1.0, True)], batch="unknown"), by=["batch"], ages=[2]
    )
    assert table["at_risk"].to_list() == [2]


def test_no_curve_no_rows():
    empty = curve(POINTS).clear()
    assert at_risk.at_risk_table(lives(LIVES), empty, by=(), ages=[2]).is_empty()


@pytest.mark.parametrize(
    ("oldest", "ages"),
    [(0.4, [1]), (3.2, [1, 2, 3]), (14.0, [2, 4, 6, 8, 10, 12, 14]), (26, [5, 10, 15, 20, 25])],
)
def test_round_ages(oldest, ages):
    assert at_risk.table_ages(oldest) == ages
