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
        ((0, 0, 0), "With 3 or 25 such models in 100, none would be due now."),
        ((1, 1, 1), "With 3 or 25 such models in 100, just as well 1 unit would be due now."),
        ((4, 4, 4), "With 3 or 25 such models in 100, as many units (4) would be due now."),
        ((2, 3, 0), "With 3 or 25 such models in 100, 3 or none would be due now instead of 2."),
        (
            (0, 2, 1),
            "With 3 or 25 such models in 100, 2 or 1 unit would be due now instead of none.",
        ),
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
    assert prior_words.sensitivity(found, list_of(due[0]), table, records, costs, asked) == said
