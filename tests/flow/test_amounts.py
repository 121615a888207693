"""Amounts that cannot be, and costs that are odd: a sentence each."""

from datetime import date

import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.amounts import cheap_failures
from fleet.flow.bench_costs import Given
from fleet.flow.due import costs_of
from fleet.flow.replacement_prices import Told, offered
from fleet.frames import known_schema
from fleet.records.impossible import impossible


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("used", 1e300, "price of used is 1e\\+300; give an amount up to 1,000,000,000"),
        ("scrap", 2e9, "price of scrap is 2e\\+09; give an amount"),
        ("planned", 1e300, "planned cost is 1e\\+300; give an amount from"),
        ("failure", 1e-300, "failure cost is 1e-300; give an amount from 0.000001"),
        ("used_age", 150.0, "is 150 years; give an age up to 60"),
        ("board_age", 60.1, "is 60.1 years; give an age up to 60"),
        ("used_age", -1.0, "not negative"),
    ],
)
def test_what_options_cannot_give(field, value, sentence):
    with pytest.raises(BadInput, match=sentence):
        Told(**{field: value})
    assert Told(used=1e9, used_age=60.0, planned=1e-6)


def test_the_bench_and_the_due_list():
    with pytest.raises(BadInput, match="opening cost given is 1e\\+12; give an amount"):
        Given(opening_cost=1e12)
    with pytest.raises(BadInput, match="openings given are 1e\\+12 a year; give a number"):
        Given(openings=1e12)
    models = pl.DataFrame({"model": ["M"], "planned_cost": [40.0], "failure_cost": [200.0]})
    with pytest.raises(BadInput, match="planned cost is 1e\\+300"):
        costs_of(models, models, planned_cost=1e300, failure_cost=None)


def test_records_that_cannot_be():
    def reasons(kind, **told):
        whole = dict.fromkeys(known_schema(kind)) | told
        row = pl.DataFrame([whole], schema_overrides=dict(known_schema(kind)))
        made = row.select(pl.concat_list(
            [e.cast(pl.String).alias(str(n)) for n, e in enumerate(
                impossible(kind, today=date(2026, 6, 30)))])).item()  # fmt: skip
        return [text for text in made if text]

    assert reasons("prices", price=60.0, parts_age_years=60.0) == []
    (dear,) = reasons("prices", price=1e12)
    assert "more than 1,000,000,000; correct it" in dear
    (old,) = reasons("prices", price=60.0, parts_age_years=150.0)
    assert old.startswith("parts_age_years 150.0 is more than 60")
    assert len(reasons("models", planned_cost=1e10, failure_cost=1e11)) == 2


def test_a_failure_that_costs_less_than_its_recap_is_said():
    costs = pl.DataFrame(
        {"model": ["B", "A", "C"], "planned_cost": [140.0, 100.0, None],
         "failure_cost": [35.0, 100.0, 5.0]}
    )  # fmt: skip
    (said,) = cheap_failures(costs)
    assert said.startswith("Model B: a failure is said to cost less (35) than a planned recap (140")
    assert cheap_failures(costs.filter(model="A")) == ()


def records(*prices, currency="XTS"):
    models = {"model": ["M"], "planned_cost": [40.0], "failure_cost": [200.0],
              "currency": [currency], "bench_hours": [2.0]}  # fmt: skip
    rows = [dict.fromkeys(known_schema("prices")) | one | {"model": "M"} for one in prices]
    shop = pl.DataFrame(schema={n: t for n, t in known_schema("shop").items()})
    return {
        "models": pl.DataFrame(models, schema_overrides={"currency": pl.String}),
        "prices": pl.DataFrame(rows, schema=known_schema("prices")),
        "shop": shop,
    }


def test_a_price_without_currency_where_others_have_one():
    used = {"item": "used", "price": 60.0, "parts_age_years": 20.0}
    (said,) = offered(records(used), "M", Told()).notes
    assert said.startswith("No currency is told of its price used: taken to be in XTS")
    assert offered(records({**used, "currency": "XTS"}), "M", Told()).notes == ()
    assert offered(records(used, currency=None), "M", Told()).notes == ()
    with pytest.raises(BadInput, match="two currencies"):
        offered(records({**used, "currency": "XXX"}), "M", Told())


def test_scrap_that_would_earn_money_and_a_cheap_failure():
    used = {"item": "used", "price": 60.0, "parts_age_years": 20.0, "currency": "XTS"}
    (said,) = offered(records(used), "M", Told(scrap=80.0)).notes
    assert said.startswith(
        "The old machine is said to bring in 80 and a used one to cost 60: buying"
    )
    assert offered(records(used), "M", Told(scrap=60.0)).notes == ()
    told = Told(planned=140.0, failure=35.0)
    (said,) = offered(records(used), "M", told).notes
    assert said.startswith("A failure is said to cost 35, less than a planned recap (140)")
