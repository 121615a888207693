"""How well it did: the due list of past days, made from what was known then, beside what happened.

For each past day the store is read as it was known then, lives are built and fitted, every machine
thought to work gets its chance and its replacement age, and today's records say what came of it.
Nothing is written.
"""

# METHODS: backtest

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import days
from fleet.errors import BadInput
from fleet.flow.answers import table_of
from fleet.flow.backtest_cases import Looked, look_at
from fleet.flow.backtest_days import past_days
from fleet.flow.backtest_forecast import FORECASTS, Forecast
from fleet.flow.backtest_known import Past, past_of, past_of_records, share_reconstructed
from fleet.flow.backtest_score import no_scores, score_cases
from fleet.flow.backtest_words import answer_words, no_days_words, rests_on_words
from fleet.flow.table import Settings, Table

__all__ = ["Asked", "LookBack", "LookingBack", "PastDay", "look_back", "look_back_on",
           "looking_back", "past_of", "past_of_records"]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What is looked back on.

    `first`: no past day before it (None: as far back as the records go); `every_years` between
    them; `fixed_age_years`: the plain rule the advice is held against; `as_dated`: records count
    as entered on their own date; `estimate`: posterior or likelihood.
    """

    horizon_years: float = 2.0
    every_years: float = 1.0
    first: date | None = None
    fixed_age_years: float = 10.0
    new_parts: str = "typical"
    level: float = 0.90
    as_dated: bool = False
    estimate: str = "posterior"
    settings: Settings | None = None

    def __post_init__(self) -> None:
        """Refuse what cannot be."""
        if self.estimate not in FORECASTS:
            raise BadInput(
                f"the estimate cannot be {self.estimate!r}; choose {' or '.join(FORECASTS)}"
            )
        for name, value, least in (
            ("horizon", self.horizon_years, 0.01),
            ("time between past days", self.every_years, 1.0 / 12.0),
            ("fixed age", self.fixed_age_years, 0.01),
        ):
            if not least <= value <= 100.0:
                raise BadInput(f"the {name} is {value:g} years; give {least:.2g} to 100 years")
        if not 0.0 < self.level < 1.0:
            raise BadInput(f"the level of the limits is {self.level:g}; give one such as 0.9")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookBack:
    """What came of past forecasts.

    `days`: one row for each past day, oldest first; `models`: one for each day and model;
    `together`: one for all days, and one for each model (`model` null: all). Columns of all three
    in `backtest_score.COLUMNS`. `bins`: fits.backtest.calibration of all cases. `said`: the
    answer in sentences; `notes`: what it rests on.
    """

    days: pl.DataFrame
    models: pl.DataFrame
    together: pl.DataFrame
    bins: pl.DataFrame
    calibration_error: float | None
    said: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PastDay:
    """One past day: its cases, and the share of the records known then that have no day of entry
    (null: none was known).
    """

    looked: Looked
    flag: float | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LookingBack:
    """A look back that is taken day by day: `dates`, oldest first, each worth its own wait.

    `at` looks at one of them, and `together` sums up what was looked at so far; so a page may show
    a few days before all are done.
    """

    past: Past
    as_of: date
    asked: Asked
    dates: tuple[date, ...]
    _today: Table
    _fates: pl.DataFrame

    def few(self, count: int = 3) -> tuple[date, ...]:
        """A few of the dates, evenly spread from the first to the last."""
        last = len(self.dates) - 1
        if last < count:
            return self.dates
        return tuple(self.dates[round(i * last / (count - 1))] for i in range(count))

    def at(self, day: date, *, forecast: Forecast | None = None) -> PastDay:
        """What was said on a day, beside what came of it."""
        asked = self.asked
        then = self.past.at(day)
        records = {**then, "models": _priced(then["models"], self.past.now["models"])}
        looked = look_at(
            records, self._fates, as_of=day, horizon_years=asked.horizon_years,
            new_parts=asked.new_parts, settings=_settings(asked), level=asked.level,
            forecast=forecast or FORECASTS[asked.estimate],
        )  # fmt: skip
        return PastDay(looked=looked, flag=share_reconstructed(then))

    def together(self, days_seen: Sequence[PastDay]) -> LookBack:
        """The answer of the days looked at, oldest first; without any, why there are none."""
        asked = self.asked
        if not days_seen:
            return _nothing(
                no_days_words(
                    self.past, self._today.working, as_of=self.as_of,
                    horizon_years=asked.horizon_years, as_dated=asked.as_dated,
                )
            )  # fmt: skip
        looked = [one.looked for one in days_seen]
        scored = score_cases(
            looked,
            [one.flag for one in days_seen],
            self._today.lives,
            self.past.now["models"],
            horizon=days(asked.horizon_years),
            fixed_age=days(asked.fixed_age_years),
            level=asked.level,
        )
        return LookBack(
            days=scored.days,
            models=scored.models,
            together=scored.together,
            bins=scored.bins,
            calibration_error=scored.calibration_error,
            said=answer_words(scored, looked, level=asked.level),
            notes=rests_on_words(scored, looked, self.past, asked.as_dated),
        )


def look_back(store: Path, *, as_of: date, asked: Asked | None = None) -> LookBack:
    """The look back on a store, as of a day that stands for today.

    Raises BadInput where `asked.first` leaves no past day; too little history is an answer without
    rows, and a sentence that says what is missing.
    """
    asked = asked or Asked()
    looking = looking_back(store, as_of=as_of, asked=asked)
    return looking.together([looking.at(day) for day in looking.dates])


def looking_back(store: Path, *, as_of: date, asked: Asked) -> LookingBack:
    """The same to be taken day by day. Raises BadInput as `look_back` does."""
    past = past_of(store, as_of=as_of, as_dated=asked.as_dated)
    return _looking_back_on(past, as_of=as_of, asked=asked)


def look_back_on(
    past: Past, *, as_of: date, asked: Asked, forecast: Forecast | None = None
) -> LookBack:
    """The same on records in hand, and for any way to make forecasts (None: as asked)."""
    looking = _looking_back_on(past, as_of=as_of, asked=asked)
    return looking.together([looking.at(day, forecast=forecast) for day in looking.dates])


def _looking_back_on(past: Past, *, as_of: date, asked: Asked) -> LookingBack:
    from fleet.lives.fates import build_fates

    settings = _settings(asked)
    today = table_of(past.now, as_of=as_of, settings=settings)
    dates = past_days(past, today.working, as_of=as_of, asked_first=asked.first,
                      every_years=asked.every_years, horizon_years=asked.horizon_years)  # fmt: skip
    fates = build_fates(
        past.now,
        as_of=as_of,
        unknown_cause=settings.unknown_cause,
        degraded_as=settings.degraded_as,
    )
    return LookingBack(
        past=past, as_of=as_of, asked=asked, dates=tuple(dates), _today=today, _fates=fates
    )


def _settings(asked: Asked) -> Settings:
    return replace(asked.settings or Settings(), by_position=False)


def _priced(then: pl.DataFrame, now: pl.DataFrame) -> pl.DataFrame:
    """Models as known then at today's costs: what was known of lives is judged, not of prices."""
    costs = ("planned_cost", "failure_cost", "currency")
    said = now.group_by("model", maintain_order=True).agg(
        pl.col(c).drop_nulls().last() for c in costs
    )
    new = now.join(then, on="model", how="anti").unique("model", keep="last", maintain_order=True)
    # A model nobody had entered yet: its costs alone, nothing else that was not known.
    bare = new.select(
        pl.col(c) if c in ("record", "content", "model") else pl.lit(None, t).alias(c)
        for c, t in now.schema.items()
    )
    return (
        pl.concat([then, bare])
        .drop(costs)
        .join(said, on="model", how="left", maintain_order="left")
        .select(then.columns)
    )


def _nothing(said: tuple[str, ...]) -> LookBack:
    none = no_scores()
    return LookBack(
        days=none.days,
        models=none.models,
        together=none.together,
        bins=none.bins,
        calibration_error=None,
        said=said,
        notes=(),
    )
