"""How many machines will fail in each quarter to come, if nothing is done, with limits.

Expected number: the sum over the units thought to work of the chance that a unit lives times its
chance to fail in the quarter. Limits hold both doubts: what the draws of the posterior leave open,
joint within a model, and luck given a draw. METHODS: expected-failures
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from fleet.decisions.alike import fold
from fleet.decisions.count_limits import count_limits
from fleet.decisions.drawn_lives import DrawnLives, hazard_at
from fleet.decisions.failing_sums import FailingSums, failing_sums
from fleet.decisions.quarters import Quarter, days_to_ends, quarters_after
from fleet.decisions.units_by_cell import units_by_cell
from fleet.decisions.weibull_life import Floats
from fleet.errors import BadInput

_SEED = 50  # of the order in which draws of one model meet those of another

EXPECTED = pl.Schema(
    {
        "model": pl.String(),  # null: all models
        "quarter_from": pl.Date(),  # first day that counts
        "quarter_to": pl.Date(),  # last day that counts
        "units": pl.Int64(),  # thought to work at as_of, with a chance
        "already_failed": pl.Float64(),  # of them, expected to have failed unseen by as_of
        "expected": pl.Float64(),  # failures of those that live
        "low": pl.Float64(),
        "high": pl.Float64(),
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Expected:
    """Tables of EXPECTED: `each` model in each quarter, `models` in all quarters together,
    `quarters` with all models together. `unknown`: units without a chance, left out.
    """

    each: pl.DataFrame
    models: pl.DataFrame
    quarters: pl.DataFrame
    unknown: int


def expected_failures(
    working: pl.DataFrame,
    cells: pl.DataFrame,
    draws: pl.DataFrame,
    prompt_shares: pl.DataFrame,
    *,
    as_of: date,
    quarters: int = 8,
    level: float = 0.90,
    again: bool = False,
) -> Expected:
    """Failures to expect among units that work at `as_of`, by model and calendar quarter.

    Takes what `due_by_draws` takes. The first quarter is what is left of the present one. Limits
    are whole numbers with at most (1 - level) / 2 of the foretold chance beyond each. `again`: new
    parts that go in after a failure may fail too (once more, no further). Raises BadFrame for a
    table that breaks its contract, BadInput for a level or a number of quarters that cannot be.
    """
    if not 0.0 < level < 1.0:
        raise BadInput(f"the level is {level}; give it between 0 and 1")
    spans = quarters_after(as_of, quarters)
    ends = days_to_ends(as_of, spans)
    listed, units, unknown = units_by_cell(working, cells, prompt_shares, as_of=as_of)
    if listed.is_empty():
        none = pl.DataFrame(schema=EXPECTED)
        return Expected(each=none, models=none, quarters=none, unknown=unknown)
    lives = DrawnLives.of(cells, draws)
    models = listed["model"].unique().sort()
    group = listed["model"].replace_strict(models, range(len(models)), return_dtype=pl.Int64)
    found = failing_sums(lives, fold(units, group.to_numpy(), lives), ends, groups=len(models))
    if again:
        found = _with_new_parts(found, lives, cells, models, ends)
    counts = np.bincount(group.to_numpy(), minlength=len(models))
    return _tables(found, models, counts, spans, level=level, unknown=unknown)


def _tables(
    found: FailingSums,
    models: pl.Series,
    counts: np.ndarray,
    spans: Sequence[Quarter],
    *,
    level: float,
    unknown: int,
) -> Expected:
    names = models.to_list()
    whole = [Quarter(spans[0].first, spans[-1].last)]
    every = _together(found)

    def table(
        sums: FailingSums, names: list[str | None], units: np.ndarray, periods: slice
    ) -> pl.DataFrame:
        days = whole if periods.start == -1 else spans
        return _rows(sums, names, units, days, periods, level=level)

    quarterly, last = slice(0, -1), slice(-1, None)
    total = np.array([counts.sum()])
    return Expected(
        each=table(found, names, counts, quarterly),
        models=pl.concat([table(every, [None], total, last), table(found, names, counts, last)]),
        quarters=table(every, [None], total, quarterly),
        unknown=unknown,
    )


def _rows(
    sums: FailingSums,
    names: list[str | None],
    units: np.ndarray,
    days: Sequence[Quarter],
    periods: slice,
    *,
    level: float,
) -> pl.DataFrame:
    mean, squares = sums.mean[:, periods], sums.squares[:, periods]
    many = len(days)
    weight = np.repeat(sums.weight, many, axis=0)
    flat = mean.reshape(len(weight), -1)
    low, high = count_limits(flat, squares.reshape(flat.shape), weight, level)
    return pl.DataFrame(
        {
            "model": [name for name in names for _ in range(many)],
            "quarter_from": [day.first for day in days] * len(names),
            "quarter_to": [day.last for day in days] * len(names),
            "units": np.repeat(units, many),
            "already_failed": np.repeat(sums.dead, many),
            "expected": (weight * flat).sum(axis=1),
            "low": low,
            "high": high,
        },
        schema=EXPECTED,
    )


def _together(found: FailingSums) -> FailingSums:
    mean, weight = meet(found.mean, found.weight)
    squares, _ = meet(found.squares, found.weight)
    return FailingSums(
        mean=mean[None], squares=squares[None], weight=weight, dead=found.dead.sum(keepdims=True)
    )


def meet(sums: Floats, weight: Floats) -> tuple[Floats, Floats]:
    """Sums over all groups, (periods, draws), and the weights of their draws, (1, draws).

    `sums` is (groups, periods, draws), `weight` (groups, draws). Draws of one model have nothing to
    do with those of another, so each model's meet the others' in an order of their own.
    """
    groups, _, draws = sums.shape
    rng = np.random.default_rng(_SEED)
    reached = np.cumsum(weight, axis=1)
    steps = (np.arange(draws) + 0.5) / draws
    every = np.zeros(sums.shape[1:])
    for group in range(groups):
        even = np.minimum(np.searchsorted(reached[group], steps * reached[group, -1]), draws - 1)
        every += sums[group][:, rng.permutation(even)]
    return every, np.full((1, draws), 1.0 / draws)


def _with_new_parts(
    found: FailingSums, lives: DrawnLives, cells: pl.DataFrame, models: pl.Series, ends: Floats
) -> FailingSums:
    """Adds failures of the parts that go in after a failure, put in at the middle of its quarter.

    They are of a batch nobody knows yet, drawn from the spread of its model.
    """
    new = cells.filter(pl.col("to_come") & (pl.col("parts") == "replaced"))
    place = (
        pl.DataFrame({"model": models})
        .join(new.select("model", "cell"), on="model", how="left", maintain_order="left")["cell"]
        .to_numpy()
    )
    shape, log_scale = lives.shape[place], lives.log_scale[place]
    starts = np.concatenate(([0.0], ends[:-1]))
    mean = found.mean.copy()

    def failed_by(days: float) -> Floats:
        if days <= 0.0:
            return np.zeros_like(shape)
        return np.asarray(-np.expm1(-hazard_at(shape, log_scale, np.asarray(days))))

    for first in range(ends.size):
        put_in = (starts[first] + ends[first]) / 2.0
        for later in range(first, ends.size):
            chance = failed_by(ends[later] - put_in) - failed_by(starts[later] - put_in)
            more = found.mean[:, first] * chance
            mean[:, later] += more
            mean[:, -1] += more
    return FailingSums(mean=mean, squares=found.squares, weight=found.weight, dead=found.dead)
