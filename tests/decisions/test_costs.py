import polars as pl
import pytest

from fleet.decisions import Costs
from fleet.decisions.costs import check_costs
from fleet.errors import BadFrame, BadInput


@pytest.mark.parametrize("planned", [0.0, -1.0, float("nan"), float("inf")])
def test_costs_are_numbers_above_zero(planned):
    with pytest.raises(BadInput, match="the planned cost is"):
        Costs(planned=planned, failure=5.0)
    with pytest.raises(BadInput, match="the failure cost is"):
        Costs(planned=5.0, failure=planned)


def test_what_is_not_above_zero_counts_as_unknown():
    table = pl.DataFrame(
        {"model": ["A", "B", "C"], "planned_cost": [0, 40, None], "failure_cost": [200, -1, 9]}
    )
    assert check_costs(table).rows() == [("A", None, 200.0), ("B", 40.0, None), ("C", None, 9.0)]


def test_two_rows_for_one_model_are_refused():
    table = pl.DataFrame({"model": ["A", "A"], "planned_cost": [1.0, 2.0], "failure_cost": 5.0})
    with pytest.raises(BadFrame, match="two rows for model A"):
        check_costs(table)
    with pytest.raises(BadFrame, match="no column failure_cost"):
        check_costs(table.drop("failure_cost"))
