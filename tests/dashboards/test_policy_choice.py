"""The rule that makes a machine due, on the pages that ask for it; and where a row leads."""

from datetime import date

import pytest

from fleet.flow.demo import suggested_as_of
from fleet.flow.due import RULES, Policy, due


@pytest.mark.parametrize("view", ["plan", "due"])
def test_every_rule_is_offered_and_kept_in_the_address(demo_store, open_view, view):
    page = open_view(view, policy="age", fixed_age="9")
    assert not page.exception
    assert not page.error
    rule = page.selectbox(key="policy")
    assert len(rule.options) == len(RULES)
    assert rule.value == "age"
    assert page.number_input(key="fixed_age").value == 9.0
    assert not page.number_input(key="fixed_age").disabled
    assert page.number_input(key="risk").disabled


def test_the_due_list_follows_the_rule(demo_store, open_view):
    page = open_view("due", policy="risk", risk="5")
    day = suggested_as_of(demo_store)
    listed = due(demo_store, as_of=day, policy=Policy(rule="risk", limit=0.05)).frame
    shown = page.dataframe[0].value
    assert list(shown["Unit"]) == listed["unit"].to_list()
    dates = [None if d is None else date.fromisoformat(str(d)[:10]) for d in listed["due_on"]]
    assert [str(d)[:10] for d in shown["Due"] if str(d) not in ("NaT", "None")] == [
        d.isoformat() for d in dates if d is not None
    ]


def test_a_chosen_machine_leads_to_its_options_and_its_sheet(demo_store, open_view):
    page = open_view("due")
    unit = page.dataframe[0].value["Unit"].iloc[0]
    labels = [link.proto.label for link in page.get("page_link")]
    assert f"Keep, recap or replace {unit}" in labels
    assert f"Bench sheet of {unit}" in labels
