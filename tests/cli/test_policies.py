"""fleet policies, and fleet due --policy."""

import pytest

CUT = "2024-06-30"
KEYS = {
    "model", "policy", "age", "open_age", "cost", "cost_low", "cost_high", "failures", "saving",
    "currency",
}  # fmt: skip


def test_each_rule_beside_running_to_failure(club):
    done = club("policies", "--as-of", CUT, "--opening-cost", "8", "--measuring-cost", "10",
                "--json")  # fmt: skip
    rows = done.rows()
    assert all(set(row) == KEYS for row in rows)
    assert [row["policy"] for row in rows[:6]] == [
        "run_to_failure", "cost", "risk", "age", "opportunity", "condition_first",
    ]  # fmt: skip
    by_model = {}
    for row in rows:
        by_model.setdefault(row["model"], {})[row["policy"]] = row
        assert row["cost_low"] <= row["cost"] <= row["cost_high"]
        assert row["currency"] == "EUR"
    for each in by_model.values():
        failing = each["run_to_failure"]["cost"]
        assert each["run_to_failure"]["saving"] == 0.0
        for row in each.values():
            assert row["saving"] == pytest.approx(1.0 - row["cost"] / failing)
        assert each["cost"]["cost"] <= min(each["age"]["cost"], each["risk"]["cost"]) * 1.002
    assert "running to failure costs" in done.err
    assert "a guess (70 and 90, no source)" in done.err


def test_the_rules_name_their_limit_and_age_and_whose_parts(club):
    done = club("policies", "--as-of", CUT, "--risk", "0.05", "--within-years", "2", "--age", "12",
                "--opening-cost", "8", "--measuring-cost", "10")  # fmt: skip
    assert "at a risk limit: 5 in 100 failing within 2 years" in done.out
    assert "at a fixed age: 12 years" in done.out
    assert "at its planned age, sooner when open anyway" in done.out
    assert "planned age (years)" in done.out
    said = [line for line in done.err.splitlines() if "Reckon" in line]
    assert said[0].startswith("Reckoned for the maker's parts of a typical batch, over and over;")
    assert done.err.index("Reckoned for") < done.err.index("running to failure costs")


def test_without_a_labour_rate_two_rules_are_left_out_and_said(club):
    done = club("policies", "--as-of", CUT, "--json")
    assert {row["policy"] for row in done.rows()} == {"run_to_failure", "cost", "risk", "age"}
    assert "enter the shop's labour rate, or give --opening-cost" in done.err


def test_two_currencies_are_one_sentence(club):
    club("add", "shop", "--labour-rate", "20", "--currency", "XTS")
    done = club("policies", "--as-of", "2027-01-01")
    assert done.code == 1
    assert "two currencies (model BM-2 in EUR, the shop in XTS)" in done.err
    assert done.out == ""


def test_the_due_list_by_a_risk_limit(club):
    rows = club("due", "--as-of", CUT, "--policy", "risk", "--risk", "0.2", "--json").rows()
    assert any("limit of 2 in 10" in row["reason"] for row in rows)
    strict = club("due", "--as-of", CUT, "--policy", "risk", "--risk", "0.02", "--json").rows()
    age = {row["unit"]: row["optimal_age"] for row in rows if row["optimal_age"]}
    for row in strict:
        if row["optimal_age"] and row["unit"] in age:
            assert row["optimal_age"] <= age[row["unit"]] + 1e-9


def test_the_due_list_by_a_fixed_age(club):
    rows = club("due", "--as-of", CUT, "--policy", "age", "--age", "9", "--json").rows()
    assert {row["optimal_age"] for row in rows} == {9.0}
    assert all("fixed age of 9 years" in row["reason"] for row in rows)


def test_wrong_usage(club):
    assert club("due", "--policy", "age").code == 2
    assert club("due", "--risk", "0.1").code == 2
    assert club("due", "--age", "9").code == 2
    assert club("due", "--policy", "luck").code == 2
    assert club("policies", "--risk", "2").code == 2
    done = club("due", "--policy", "risk", "--estimate", "both")
    assert done.code == 1
    assert "posterior alone" in done.err
