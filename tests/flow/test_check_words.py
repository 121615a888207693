"""Findings on the data in words."""

import pytest

from fleet.flow.check_words import effect_in_words, in_a_sentence, worth_settling

ROW = {
    "about": "silence",
    "subject": "U-1, U-2",
    "said": "not reported working for more than 2 years",
    "machines": 2,
    "blocks": False,
    "effect": 0.3,
}

SENTENCES = [
    ({}, "Not reported working for more than 2 years: 2 machines: U-1, U-2"),
    (
        {"about": "sources", "subject": "Club", "said": "no roll call", "machines": 1_200},
        "Club (1,200 machines): no roll call",
    ),
    (
        {"about": "causes", "subject": "failures", "said": "cause unknown in 3 of 9"},
        "Failures: cause unknown in 3 of 9 (2 machines)",
    ),
    (
        {"about": "left out", "subject": "U-1", "machines": 1,
         "said": "left out of the lives: report r-0af says it was retired"},
        "Left out of the lives: a report says it was retired: 1 machine, U-1",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("changed", "told"), SENTENCES)
def test_what_was_found_and_how_many_machines_it_concerns(changed, told):
    assert in_a_sentence({**ROW, **changed}) == told


EFFECTS = [
    ({"blocks": True, "effect": None}, "no answer without it", True),
    ({"effect": None}, "effect not measured", True),
    ({"effect": 0.0049}, "hardly changes an answer", False),
    ({"effect": 0.005}, "changes an answer a little: up to 0.5 %", True),
    ({"effect": 0.06}, "changes an answer somewhat: up to 6.0 %", True),
    ({"effect": 0.3}, "changes an answer much: up to 30 %", True),
    ({"effect": 1.5}, "changes an answer very much: 2.5-fold", True),
]


@pytest.mark.parametrize(("changed", "told", "worth"), EFFECTS)
def test_effects(changed, told, worth):
    assert effect_in_words({**ROW, **changed}) == told
    assert worth_settling({**ROW, **changed}) is worth
