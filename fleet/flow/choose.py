"""Keep, recap or replace one machine: options, what they cost, and what would flip the choice."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import days
from fleet.decisions.keep_or_replace import CHOICES, Machine, Prices
from fleet.errors import BadInput
from fleet.fits import Posterior
from fleet.flow.answers import READ, table_of
from fleet.flow.bench_costs import Given
from fleet.flow.beyond_repair import BeyondRepair, beyond_repair
from fleet.flow.choose_lead import lead_said, next_step
from fleet.flow.choose_machine import find_machine, machine_of
from fleet.flow.choose_words import (
    NAMES,
    chances_said,
    differs_said,
    flips_said,
    left_said,
    measure_said,
    negative_said,
    others_said,
)
from fleet.flow.known import known_records
from fleet.flow.posterior import posterior_of
from fleet.flow.replacement_prices import Offered, Told, offered
from fleet.flow.table import Settings, Table

__all__ = ["Asked", "Choice", "Given", "Known", "Told", "choose", "known_of"]

READ_TO_CHOOSE = (*READ, "readings", "shop", "prices")
_MOST_YEARS = 40
FLIPS = pl.Schema(
    {"what": pl.String(), "now": pl.Float64(), "at": pl.Float64(), "best": pl.String(),
     "other": pl.String()}
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the choice is asked for. `failed`: the machine does not work, whatever was reported.

    `new_life`, `new_machine_life`: typical life (scale) in years of what a recap puts in, and of a
    new machine's capacitors. Raises BadInput for what cannot be.
    """

    years: int = 10
    leftover: bool = True
    failed: bool = False
    new_life: float | None = None
    new_machine_life: float | None = None
    look_years: float = 2.0
    sensitivity: float | None = None
    specificity: float | None = None

    def __post_init__(self) -> None:
        if not 1 <= self.years <= _MOST_YEARS:
            raise BadInput(f"{self.years} years cannot be looked at; give 1 to {_MOST_YEARS}")
        for value in (self.new_life, self.new_machine_life, self.look_years):
            if value is not None and not 0.0 < value < 1000.0:
                raise BadInput(f"a life of {value:g} years cannot be; give a number above zero")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Choice:
    """Options of one machine, cheapest a year of service first among those that keep service.

    `frame`: CHOICES with what (words), why_not (null, or what to do to have it reckoned), rank
    (1: cheapest; null where it is not ranked), currency. `flips`: columns of FLIPS. `said`: the
    answer in sentences, `turned`: what would turn it, `notes`: what it rests on, `next_step`: what
    to do, with its command.
    """

    unit: str
    model: str
    works: bool
    frame: pl.DataFrame
    flips: pl.DataFrame
    said: tuple[str, ...]
    turned: tuple[str, ...]
    notes: tuple[str, ...]
    next_step: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Known:
    """What a store knows on a day, as every choice reads it."""

    records: Mapping[str, pl.DataFrame]
    table: Table
    posterior: Posterior
    as_of: date


def known_of(store: Path, *, as_of: date, settings: Settings | None = None) -> Known:
    """Records, lives and the posterior of a store on a day."""
    records = known_records(store, READ_TO_CHOOSE, as_of=as_of)
    table = table_of(records, as_of=as_of, settings=settings)
    posterior = posterior_of(table, records, as_of=as_of)
    return Known(records=records, table=table, posterior=posterior, as_of=as_of)


def choose(
    known: Known,
    unit: str,
    *,
    asked: Asked | None = None,
    told: Told | None = None,
    given: Given | None = None,
) -> Choice:
    """The options of one machine. `told`: prices and chances instead of the records'; `given`: what
    opening and measuring costs. Raises NotKnown for a unit that is not there, BadInput where it
    cannot be reckoned: retired, of unknown age, without costs, prices in two currencies.
    """
    from fleet.decisions.keep_or_replace import choices

    asked, told, given = asked or Asked(), told or Told(), given or Given()
    records, table = known.records, known.table
    found = find_machine(unit, table, records, failed=asked.failed)
    offer = offered(records, found.model, told)
    chances = _chances(records, found.model, told, known.as_of)
    prices = _prices(offer, chances)
    lives, standing, due = machine_of(
        found, table, records, known.posterior, offer, known.as_of, asked
    )
    reckoned = choices(lives, prices, years=asked.years, leftover=asked.leftover)
    frame = _ranked(reckoned, offer)
    turns = _flips(frame, lives, prices, asked)
    measure = measure_said(found, lives, prices, records, table, offer, asked, given, standing)
    said = (
        *lead_said(frame, found, offer, asked.years, standing),
        *left_said(frame, asked.years),
        *measure,
        *differs_said(frame, lives, standing),
        *others_said(frame, offer),
        *negative_said(frame, offer.currency),
    )
    notes = (*found.notes, *due, *chances_said(found.model, chances), *offer.notes)
    return Choice(
        unit=found.unit,
        model=found.model,
        works=lives.own is not None,
        frame=frame,
        flips=turns,
        said=said,
        turned=tuple(flips_said(turns, offer.currency)),
        notes=notes,
        next_step=next_step(frame, found, standing),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Chances:
    """Chance that a recap succeeds, and that a failure is the end, with what they rest on."""

    success: float
    jobs: int
    cured: int
    beyond: BeyondRepair
    success_told: bool
    beyond_told: bool


def _chances(records: Mapping[str, pl.DataFrame], model: str, told: Told, as_of: date) -> Chances:
    from fleet.flow.outcomes import success_of

    learned = success_of(records, as_of=as_of).filter(pl.col("model") == model)
    row = learned.row(0, named=True)  # every model has one
    beyond = beyond_repair(records, model)
    if told.beyond_repair is not None:
        beyond = replace(beyond, chance=told.beyond_repair)
    return Chances(
        success=row["success"] if told.success is None else told.success,
        jobs=row["jobs"],
        cured=row["cured"],
        beyond=beyond,
        success_told=told.success is not None,
        beyond_told=told.beyond_repair is not None,
    )


def _prices(offer: Offered, chances: Chances) -> Prices:
    return Prices(
        planned=offer.planned,
        failure=max(offer.failure, offer.planned),
        success=chances.success,
        beyond_repair=chances.beyond.chance,
        used=offer.used,
        used_age=None if offer.used_age is None else days(offer.used_age),
        new=offer.new,
        board=offer.board,
        board_age=days(offer.board_age),
        scrap=offer.scrap,
    )


def _ranked(reckoned: pl.DataFrame, offer: Offered) -> pl.DataFrame:
    """Options in order: those that keep service by cost, those that end it, those without price."""
    missing = [item for item in ("used", "new", "board") if item in offer.lacking]
    none = pl.DataFrame(
        [{"option": item, "keeps_service": True} for item in missing], schema=CHOICES
    )
    frame = pl.concat([reckoned, none])
    ranked = pl.col("keeps_service") & pl.col("cost_per_year").is_not_null()
    return (
        frame.with_columns(
            what=pl.col("option").replace_strict(NAMES, return_dtype=pl.String),
            why_not=pl.col("option").replace_strict(
                offer.lacking, default=None, return_dtype=pl.String
            ),
            rank=pl.when(ranked).then(
                pl.col("cost_per_year").rank("ordinal").over(ranked).cast(pl.Int64)
            ),
            currency=pl.lit(offer.currency, dtype=pl.String),
        )
        .with_columns(_last=pl.col("why_not").is_not_null())
        .sort("_last", "rank", "option", nulls_last=True)
        .drop("_last")
    )


def _flips(frame: pl.DataFrame, lives: Machine, prices: Prices, asked: Asked) -> pl.DataFrame:
    """Where the cheapest option gives way to others."""
    from fleet.decisions.flips import flips
    from fleet.decisions.keep_or_replace import choices

    ranked = frame.drop_nulls("rank").sort("rank")["option"].to_list()
    if len(ranked) < 2:
        return pl.DataFrame(schema=FLIPS)
    kept: dict[Prices, dict[str, float | None]] = {}

    def cost(changed: Prices, option: str) -> float | None:
        if changed not in kept:
            found = choices(lives, changed, years=asked.years, leftover=asked.leftover)
            kept[changed] = dict(zip(found["option"], found["cost_per_year"], strict=True))
        return kept[changed].get(option)

    found = flips(cost, prices, best=ranked[0], others=tuple(ranked[1:]))
    return pl.DataFrame(
        [{name: getattr(flip, name) for name in FLIPS} for flip in found], schema=FLIPS
    )
