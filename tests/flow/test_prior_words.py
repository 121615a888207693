"""How far the due list hangs on the prior, in words for any number of units due."""

from datetime import date
from types import SimpleNamespace

import polars as pl
import pytest

from fleet.fits import Prior
from fleet.flow import prior_words
from fleet.flow.due_by_posterior import Asked

TODAY = date(2026, 6, 1)


def list_of(due):
    days = [TODAY] * due + [date(2031, 1, 1)] * (5 - due)
    return pl.DataFrame({"due_on": days})


@pytest.mark.parametrize(
    ("due", "said"),
    [
        ((0, 0, 0), "no unit would have reached its date either by today."),
        ((1, 1, 1), "1 unit would have reached its date as well by today."),
        ((4, 4, 4), "as many units (4) would have reached their date by today."),
        ((2, 3, 0), "3 or no units would have reached their date by today instead of 2."),
        ((0, 2, 1), "2 or 1 unit would have reached its date by today instead of none."),
    ],
)
def test_units_due_under_other_shares_are_said(monkeypatch, due, said):
    lists = iter([list_of(due[1]), list_of(due[2])])
    monkeypatch.setattr(prior_words, "due_of_posterior", lambda *_: next(lists))
    found = SimpleNamespace(
        prior=Prior(), cells=pl.DataFrame({"cell": [0]}), with_share=lambda _share: None
    )
    asked = Asked(as_of=TODAY)
    table = records = costs = None
    told = prior_words.sensitivity(found, list_of(due[0]), table, records, costs, asked)
    assert told == f"With 3 or 25 such models in 100, {said}"
