"""What the bench can do and what jobs take there, from the records of the shop and the models."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import polars as pl

from fleet.decisions.plan import Bench
from fleet.errors import BadInput

_USUAL_HOURS = 1.0  # at the bench, where no model says how long it takes; our choice, no source
_SHOP = ("labour_rate", "bench_hours_per_month", "budget", "setup_hours", "currency")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AtBench:
    """`bench`, `hours` of each model (model, hours), the `currency` of money, and what to say."""

    bench: Bench
    hours: pl.DataFrame
    currency: str
    notes: tuple[str, ...]


def at_bench(
    records: Mapping[str, pl.DataFrame],
    wanted: pl.Series,
    *,
    hours_per_month: float | None,
    budget: float | None,
) -> AtBench:
    """Hours, money and set-up of the bench for the models `wanted`; options come before records.

    Of several rows of the shop the last entered counts, column by column. Raises BadInput for
    hours or a budget that cannot be.
    """
    for what, value in (("hours at the bench", hours_per_month), ("budget", budget)):
        if value is not None and not (math.isfinite(value) and value > 0.0):
            raise BadInput(f"the {what} a month cannot be {value:g}; give a number above zero")
    shop = {name: _last(records["shop"], name) for name in _SHOP}
    of_hours = shop["bench_hours_per_month"] if hours_per_month is None else hours_per_month
    money = shop["budget"] if budget is None else budget
    setup, rate = shop["setup_hours"] or 0.0, shop["labour_rate"] or 0.0
    hours, assumed = _hours(records["models"], wanted)
    currencies = _currencies(records, wanted, shop["currency"])
    notes = [*_limits_said(of_hours, money), *assumed, *_currency_said(currencies)]
    if setup and not rate:
        notes.append(
            f"Getting ready takes {setup:g} hours for each model in each month, and no labour rate "
            "is recorded: it counts in hours, not in money (`fleet add shop --labour-rate`)."
        )
    if not setup:
        notes.append(
            "What getting ready for a model takes is not recorded, so nothing is gained by doing "
            "like machines together (`fleet add shop --setup-hours`)."
        )
    return AtBench(
        bench=Bench(hours=of_hours, budget=money, setup_hours=setup, labour_rate=rate),
        hours=hours,
        currency=currencies[0] if len(currencies) == 1 else "",
        notes=tuple(notes),
    )


def _last(shop: pl.DataFrame, name: str) -> Any:  # noqa: ANN401 - a number, or the currency's text
    told = shop[name].drop_nulls()
    return None if told.is_empty() else told[-1]


def _hours(models: pl.DataFrame, wanted: pl.Series) -> tuple[pl.DataFrame, list[str]]:
    """Hours of each model wanted; of those that do not say, the middle of those that do."""
    told = models.group_by("model").agg(hours=pl.col("bench_hours").drop_nulls().last())
    known = told.filter(pl.col("hours") > 0.0)["hours"]
    usual = float(np.median(known)) if known.len() else _USUAL_HOURS
    each = pl.DataFrame({"model": wanted.unique().sort()}).join(
        told, on="model", how="left", maintain_order="left"
    )
    each = each.with_columns(hours=pl.when(pl.col("hours") > 0.0).then("hours"))
    silent = each.filter(pl.col("hours").is_null())["model"].to_list()
    said = []
    if silent:
        why = "the middle of the other models'" if known.len() else "our guess, no model says"
        said.append(
            f"How long {_listed(silent)} takes at the bench is not recorded: {usual:g} hours are "
            f"assumed ({why}). Enter the bench hours with the model."
        )
    return each.with_columns(pl.col("hours").fill_null(usual)), said


def _limits_said(hours: float | None, money: float | None) -> list[str]:
    said = []
    if hours is None:
        said.append(
            "Hours at the bench are not recorded, so a month has no limit of hours: "
            "`fleet add shop --bench-hours-per-month`, or --hours-per-month."
        )
    if money is None:
        said.append(
            "No budget is recorded, so a month has no limit of money: `fleet add shop --budget`, "
            "or --budget."
        )
    return said


def _currencies(
    records: Mapping[str, pl.DataFrame], wanted: pl.Series, of_shop: str | None
) -> list[str]:
    mine = records["models"].filter(pl.col("model").is_in(wanted.unique().implode()))
    told = mine.group_by("model").agg(pl.col("currency").drop_nulls().last())["currency"]
    return sorted({c.strip().upper() for c in [*told.drop_nulls(), of_shop] if c and c.strip()})


def _currency_said(currencies: list[str]) -> list[str]:
    if len(currencies) < 2:
        return []
    return [
        f"Costs are in {_listed(currencies)} and are added as if they were one: give the costs of "
        "models and shop in one currency."
    ]


def _listed(names: list[str]) -> str:
    few = names[:6]
    more = [f"{len(names) - 6} more"] if len(names) > 6 else []
    *first, last = [*few, *more]
    return f"{', '.join(first)} and {last}" if first else last
