"""How many failures to expect by quarter, for one store and one as-of date."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.fits import Prior
from fleet.flow.answers import READ, table_of
from fleet.flow.due_by_posterior import working_units
from fleet.flow.expected_words import foot_words, model_words
from fleet.flow.known import known_records
from fleet.flow.posterior import posterior_of, prompt_shares
from fleet.flow.table import Answer, Settings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ExpectedAnswer(Answer):
    """`frame`: each model in each quarter; `models`: each model in all quarters together, all
    models first (null); `quarters`: all models together in each quarter. Columns of all three:
    model, quarter_from, quarter_to (both days count), units, already_failed, expected, low, high.
    `said`: the answer in sentences, all models first.
    """

    models: pl.DataFrame = field(default_factory=pl.DataFrame)
    quarters: pl.DataFrame = field(default_factory=pl.DataFrame)
    said: tuple[str, ...] = ()

    def said_of(self, models: Sequence[str]) -> tuple[str, ...]:
        """The sentences on some models; on all of them where none is named."""
        if not models:
            return self.said
        return model_words(self.models.filter(pl.col("model").is_in(list(models))))


def expected_failures(
    store: Path,
    *,
    as_of: date,
    quarters: int = 8,
    level: float = 0.90,
    again: bool = False,
    settings: Settings | None = None,
    prior: Prior | None = None,
) -> ExpectedAnswer:
    """Failures by the capacitors to expect in the next calendar quarters if nothing is done.

    The first quarter is what is left of the present one. Limits are of the number that will fail,
    luck included. `again`: parts that go in after a failure may fail in their turn, once. Raises
    BadInput for a level or a number of quarters that cannot be.
    """
    from fleet.decisions import expected_failures as by_draws

    settings = replace(settings or Settings(), by_position=False)
    records = known_records(store, READ, as_of=as_of)
    table = table_of(records, as_of=as_of, settings=settings)
    found = posterior_of(table, records, as_of=as_of, prior=prior)
    expected = by_draws(
        working_units(table, records),
        found.cells,
        found.draws,
        prompt_shares(table.lives.filter(pl.col("parts") != "partial")),
        as_of=as_of,
        quarters=quarters,
        level=level,
        again=again,
    )
    return ExpectedAnswer(
        frame=expected.each,
        models=expected.models,
        quarters=expected.quarters,
        said=model_words(expected.models),
        notes=foot_words(expected.models, unknown=expected.unknown, level=level, again=again),
    )
