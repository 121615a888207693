import pytest

from fleet.decisions.estimate_for import estimate_for, numbered, overall_for
from fleet.errors import BadFrame


@pytest.fixture
def rows(make):
    return numbered(
        make.estimates(
            {},  # 0 the model, original parts
            {"batch": "B1", "failures": 5.0},  # 1
            {"batch": "B2", "failures": 4.5},  # 2 too few
            {"batch": "B3", "exists": False, "shape": None, "scale": None},  # 3 no estimate
            {"parts": "replaced"},  # 4
            {"model": "DH9"},  # 5 nothing for replaced parts
            {"model": "CW2", "exists": False, "shape": None, "scale": None, "reason": "why"},  # 6
        )
    )


@pytest.mark.parametrize(
    ("unit", "estimate", "borrowed"),
    [
        ({"batch": "B1"}, 1, False),
        ({"batch": "B2"}, 0, False),
        ({"batch": "B3"}, 0, False),
        ({"batch": "B9"}, 0, False),
        ({"batch": None}, 0, False),
        ({"batch": "C1:B1;C2:B2"}, 0, False),
        ({"parts": "replaced_known", "batch": "B1"}, 4, False),
        ({"parts": "replaced_unknown"}, 4, False),
        ({"parts": "partial"}, 4, False),
        ({"model": "DH9"}, 5, False),
        ({"model": "DH9", "parts": "replaced_known"}, 5, True),
        ({"model": "DH9", "parts": "partial"}, 5, True),
        ({"model": "CW2"}, None, False),
        ({"model": "XX"}, None, False),
    ],
    ids=str,
)
def test_which_estimate_serves_which_unit(make, rows, unit, estimate, borrowed):
    found = estimate_for(make.working(unit), rows, min_batch_failures=5.0)
    assert found.row(0)[:2] == (estimate, borrowed)


def test_the_fits_own_reason_comes_along(make, rows):
    units = make.working({"model": "CW2"}, {"model": "XX"}, {})
    found = estimate_for(units, rows, min_batch_failures=5.0)
    assert found["why_none"].to_list() == ["why", None, None]


def test_a_typical_batch_is_that_of_the_model_with_the_same_parts(make):
    rows = numbered(
        make.estimates(
            {},
            {"batch": "B1"},
            {"parts": "replaced"},
            {"parts": "replaced", "batch": "B1"},
            {"model": "DH9"},
            {"model": "DH9", "parts": "replaced", "batch": "B1"},
            {"model": "CW2", "batch": "B1"},
        )
    )
    assert overall_for(rows)["overall"].to_list() == [0, 0, 2, 2, 4, 4, 6]


def test_two_estimates_for_one_thing_are_refused(make):
    with pytest.raises(BadFrame, match="two estimates for model BK3"):
        numbered(make.estimates({}, {}))
