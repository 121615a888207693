"""Why a unit is due now, later or never, in the words of the rule that says so."""

from dataclasses import dataclass

import polars as pl

from fleet.decisions.never import never_said
from fleet.decisions.policies import Policy
from fleet.decisions.say import chance_said, day_said, horizon_said, years_said


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class WhenDue:
    """Sentences on units that are due `now`, `later` or `never`; columns as `actions.judge`'s."""

    now: pl.Expr
    later: pl.Expr
    never: pl.Expr


def when_due(policy: Policy) -> WhenDue:
    """The sentences of a rule."""
    if policy.rule == "risk":
        return _at_risk(policy)
    if policy.rule == "age":
        return _at_age()
    return WhenDue(now=_best_now(), later=_best_later(), never=never_said())


def _best_now() -> pl.Expr:
    parts = years_said(pl.col("age"))
    return (
        pl.when(pl.col("shape") <= 1.0)
        .then(
            pl.lit(
                "Due now: its parts fail so much more often than those that would go in that "
                "new ones pay at once, whatever their age."
            )
        )
        .when((pl.col("overdue_days") >= 1.0) & (pl.col("shape_low") > 1.0).fill_null(value=True))
        .then(
            pl.format(
                "Overdue by {}: new parts pay best at {}, and its parts are {} old.",
                years_said(pl.col("overdue_days")),
                years_said(pl.col("optimal_age")),
                parts,
            )
        )
        .when((pl.col("shape_low") <= 1.0).fill_null(value=False))
        .then(pl.lit("Due now, if these failures do grow with age, which is open."))
        .otherwise(
            pl.format("Due now: new parts pay best at {}.", years_said(pl.col("optimal_age")))
        )
    )


def _best_later() -> pl.Expr:
    return pl.format(
        "Due on {}, when its parts are {} old{}.",
        day_said(pl.col("due_on")),
        years_said(pl.col("optimal_age")),
        _between(),
    )


def _at_risk(policy: Policy) -> WhenDue:
    span = pl.lit(horizon_said(policy.within_years))
    limit = chance_said(pl.lit(policy.limit))
    since = (
        pl.when(pl.col("overdue_days") >= 1.0)
        .then(pl.format(", and has been for {}", years_said(pl.col("overdue_days"))))
        .otherwise(pl.lit(""))
    )
    return WhenDue(
        now=pl.format(
            "Due now: the chance that it fails within {} is above the limit of {}{}.",
            span,
            limit,
            since,
        ),
        later=pl.format(
            "Due on {}, when the chance that it fails within {} reaches the limit of {}{}.",
            day_said(pl.col("due_on")),
            span,
            limit,
            _between(),
        ),
        never=pl.format(
            "As far as is known the chance that it fails within {} never reaches the limit of {}.",
            span,
            limit,
        ),
    )


def _at_age() -> WhenDue:
    fixed = years_said(pl.col("optimal_age"))
    now = (
        pl.when(pl.col("overdue_days") >= 1.0)
        .then(
            pl.format(
                "Due now: its parts passed the fixed age of {} {} ago.",
                fixed,
                years_said(pl.col("overdue_days")),
            )
        )
        .otherwise(pl.format("Due now: its parts have reached the fixed age of {}.", fixed))
    )
    later = pl.format(
        "Due on {}, when its parts reach the fixed age of {}.", day_said(pl.col("due_on")), fixed
    )
    return WhenDue(
        now=now,
        later=later,
        never=pl.lit("It reaches the fixed age later than any calendar goes."),
    )


def _between() -> pl.Expr:
    low, high = day_said(pl.col("due_low")), day_said(pl.col("due_high"))
    return pl.coalesce(
        pl.format(" (between {} and {})", low, high),
        pl.format(" (not before {}, perhaps never)", low),
        pl.lit(""),
    )
