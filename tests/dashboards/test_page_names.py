"""Sentences of answers name pages where they are read on one."""

import page_names
import pytest

SAID = {
    "measure, correct the place's record with `fleet amend`, and order again": (
        "measure, correct the place's record on the page Parts, and order again"
    ),
    "enter some with `fleet add offer --part HN-1 --price 2`": "enter some on the page Parts",
    "no price is known: `fleet add price`.": "no price is known: the page Bring in data.",
    "the due list and fleet choose weigh one machine": (
        "the due list and the page Keep, recap or replace weigh one machine"
    ),
    "`fleet plan` says in which month, `fleet sheet S-1` prints the sheet": (
        "the page Plan and order says in which month, the page Bench sheet prints the sheet"
    ),
    "correct it with: fleet amend R-1 --set COLUMN=VALUE": "correct it on the page Parts",
    "say when: fleet amend R-1 --set date=2019 --set notes=x; or leave it": (
        "say when: the page Parts; or leave it"
    ),
    "correct the record with fleet amend before any verdict": (
        "correct the record on the page Parts before any verdict"
    ),
    "fleet due lists the machines": "the page Due list lists the machines",
    "a fleet of forty; fleets differ": "a fleet of forty; fleets differ",
    "`fleet restore` brings it back": "`fleet restore` brings it back",  # on no page
}


@pytest.mark.parametrize("text", SAID)
def test_a_command_is_named_by_its_page(text):
    assert page_names.instead_of_commands(text, amend="Parts") == SAID[text]
