"""The due list: fits, regions and costs put together for one as-of date."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.decisions.policies import LEAST_COST, RULES, Policy
from fleet.errors import BadInput
from fleet.fits import Prior
from fleet.flow.amounts import cheap_failures, check_cost
from fleet.flow.answers import READ, table_of
from fleet.flow.due_by_posterior import Asked, due_by_posterior
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.kept import kept
from fleet.flow.known import entered_later, known_records
from fleet.flow.new_parts import AS_BEFORE, new_lives
from fleet.flow.posterior import prompt_shares
from fleet.flow.table import Answer, Settings, Table
from fleet.frames import ESTIMATES, REGION, empty_frame

__all__ = [
    "ESTIMATES_OF", "RULES", "Asked", "Policy", "Prior", "costs_of", "due", "due_of",
    "estimates_for",
]  # fmt: skip

ESTIMATES_OF = ("posterior", "likelihood", "both")


def due(
    store: Path,
    *,
    as_of: date,
    horizon_years: float = 2.0,
    new_parts: str = "typical",
    planned_cost: float | None = None,
    failure_cost: float | None = None,
    level: float = 0.90,
    estimate: str = "posterior",
    prior: Prior | None = None,
    settings: Settings | None = None,
    policy: Policy = LEAST_COST,
) -> Answer:
    """The due list (frames.DUE, ages in days), most urgent first, and the sentences with it.

    `estimate`: "posterior" (the default), "likelihood" (maximum likelihood with profile limits) or
    "both": the posterior's list with columns p_fail_by_likelihood, optimal_age_by_likelihood and
    due_on_by_likelihood beside it. `new_parts`: "typical", "same", or a life for what goes in as
    `new_parts.new_lives` reads it. Costs come from the models' records unless given. Raises
    BadInput for costs, a horizon, new parts or an estimate that cannot be. `policy`: what makes a
    unit due; other rules than the least cost rest on the posterior alone.
    """
    if estimate not in ESTIMATES_OF:
        raise BadInput(f"the estimate cannot be {estimate!r}; choose {', '.join(ESTIMATES_OF)}")
    if policy.rule != "cost" and estimate != "posterior":
        raise BadInput(
            "a risk limit or a fixed age goes with the posterior alone; leave out the other "
            "estimate"
        )
    settings = replace(settings or Settings(), by_position=False)
    records = known_records(store, READ, as_of=as_of)
    table = table_of(records, as_of=as_of, settings=settings)
    costs = costs_of(
        records["models"], table.working, planned_cost=planned_cost, failure_cost=failure_cost
    )
    asked = Asked(
        as_of=as_of, horizon_years=horizon_years, new_parts=new_parts, level=level, policy=policy
    )
    said: tuple[str, ...] = ()
    odd = cheap_failures(costs)
    read: tuple[object, ...] = (table, *(records[kind] for kind in READ))
    if new_parts not in AS_BEFORE:
        offers = known_records(store, ("offers",), as_of=as_of)
        asked, said = _with_new_lives(asked, offers, table, records, estimate)
        read = (*read, offers["offers"])
    frame, notes = kept(
        "due list",
        read,
        (asked, new_parts, estimate, prior, planned_cost, failure_cost),
        lambda: due_of(table, records, costs, asked, estimate=estimate, prior=prior),
    )
    later = entered_later(store, as_of=as_of)
    return Answer(frame=frame, notes=(*later, *said, *notes, *odd, *_left_out_note(table)))


def _with_new_lives(
    asked: Asked,
    offers: Mapping[str, pl.DataFrame],
    table: Table,
    records: Mapping[str, pl.DataFrame],
    estimate: str,
) -> tuple[Asked, tuple[str, ...]]:
    """The same with the lives of what goes in, and the sentences with them."""
    if estimate != "posterior":
        raise BadInput(
            "a life given for the new parts goes with the posterior alone; leave out the other "
            "estimate, or ask for typical or same new parts"
        )
    found = new_lives(asked.new_parts, table.working, {**records, **offers})
    if found is None:
        return asked, ()
    return replace(asked, new_parts="typical", new_lives=found.frame), found.notes


def due_of(
    table: Table,
    records: Mapping[str, pl.DataFrame],
    costs: pl.DataFrame,
    asked: Asked,
    *,
    estimate: str = "posterior",
    prior: Prior | None = None,
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The due list of a life table built from `records`, and the sentences with it."""
    if estimate == "likelihood":
        return _by_likelihood(table, costs, asked)
    frame, notes = due_by_posterior(table, records, costs, asked, prior=prior)
    if estimate == "posterior":
        return frame, notes
    other, _ = _by_likelihood(table, costs, asked)
    beside = other.select(
        "unit", pl.col("p_fail", "optimal_age", "due_on").name.suffix("_by_likelihood")
    )
    return frame.join(beside, on="unit", how="left", maintain_order="left"), notes


def _by_likelihood(
    table: Table, costs: pl.DataFrame, asked: Asked
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    from fleet.decisions import due_list

    estimates, regions, notes = estimates_for(table, level=asked.level)
    frame = due_list(
        table.working,
        estimates,
        regions,
        costs,
        as_of=asked.as_of,
        horizon_years=asked.horizon_years,
        new_parts=asked.new_parts,
    )
    return frame, notes


def estimates_for(
    table: Table, *, level: float
) -> tuple[pl.DataFrame, pl.DataFrame, tuple[str, ...]]:
    """Fits and their likelihood regions by model, and by model and batch, for original and for
    replaced parts (frames.ESTIMATES and frames.REGION), and the sentences with them.
    """
    pooled = table.lives.filter(pl.col("parts") != "partial").with_columns(
        pl.when(pl.col("parts") == "original")
        .then(pl.lit("original"))
        .otherwise(pl.lit("replaced"))
        .alias("parts")
    )
    fitted, apart = set_apart(pooled, table, ("model", "parts"))
    by_model = _fits(fitted, ("model", "parts"), level=level)
    by_batch = _fits(
        fitted.filter(pl.col("batch").is_not_null()), ("model", "batch", "parts"), level=level
    )
    estimates = pl.concat([by_model[0], by_batch[0]])
    regions = pl.concat([by_model[1], by_batch[1]])
    estimates = estimates.join(prompt_shares(pooled), on="model", how="left").with_columns(
        pl.col("prompt_share").fill_null(0.5)
    )
    return (
        estimates.select(ESTIMATES.names()),
        regions,
        what_failures_alone_tell(apart, ("model",)),
    )


def costs_of(
    models: pl.DataFrame,
    working: pl.DataFrame,
    *,
    planned_cost: float | None,
    failure_cost: float | None,
) -> pl.DataFrame:
    """Costs per model: what the models' records say, overridden by what was given.

    Columns: model, planned_cost, failure_cost; null where nobody said. Raises BadInput for a cost
    given that is no number above zero.
    """
    for what, value in (("planned", planned_cost), ("failure", failure_cost)):
        check_cost(value, what)
    said = models.group_by("model").agg(
        pl.col("planned_cost").drop_nulls().last(), pl.col("failure_cost").drop_nulls().last()
    )
    costs = working.select("model").unique().join(said, on="model", how="left")
    given = [
        pl.lit(value, dtype=pl.Float64).alias(name)
        for name, value in (("planned_cost", planned_cost), ("failure_cost", failure_cost))
        if value is not None
    ]
    return costs.with_columns(given)


def _fits(
    lives: pl.DataFrame, by: Sequence[str], *, level: float
) -> tuple[pl.DataFrame, pl.DataFrame]:
    from fleet.fits import fit_weibull, weibull_region

    if lives.is_empty():
        none = empty_frame(REGION).with_columns(pl.lit(None, dtype=pl.Boolean).alias("open"))
        return empty_frame(ESTIMATES).drop("prompt_share"), none
    columns = [name for name in ESTIMATES if name != "prompt_share"]
    oldest = lives.group_by(list(by)).agg(
        pl.max_horizontal(pl.col("low"), pl.col("high")).max().alias("oldest_age")
    )
    fits = fit_weibull(lives, by=by, level=level).join(oldest, on=list(by), how="left")
    regions = weibull_region(lives, by=by, level=level)
    if "batch" not in by:
        fits = fits.with_columns(pl.lit(None, dtype=pl.String).alias("batch"))
        regions = regions.with_columns(pl.lit(None, dtype=pl.String).alias("batch"))
    return fits.select(columns), regions.select(*REGION.names(), "open")


def _left_out_note(table: Table) -> tuple[str, ...]:
    count = table.left_out.height
    if not count:
        return ()
    what = "record of a set is" if count == 1 else "records of sets are"
    return (f"{count} {what} left out of the lives; `fleet check` says which and why.",)
