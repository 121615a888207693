"""Why a unit is due now, later or never, in the words of the rule that says so."""

from dataclasses import dataclass

import polars as pl

from fleet.ages import DAYS_PER_YEAR
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
    about = (pl.col("optimal_age") / DAYS_PER_YEAR).round(0).cast(pl.Int64, strict=False)
    old = pl.when(none_failed()).then(pl.format("about {} years", about.clip(1)))
    return pl.format(
        "Due {}, when its parts are {} old{}.",
        _due_said(),
        pl.coalesce(old, years_said(pl.col("optimal_age"))),
        _between(),
    )


def none_failed() -> pl.Expr:
    """No failure of such parts is known: a date to the day would claim too much."""
    return (pl.col("failures") < 1.0).fill_null(value=False)


def as_well_as_known(day: pl.Expr) -> pl.Expr:
    """A date as "3 May 2031"; only its year where no failure of such parts is known."""
    return pl.when(none_failed()).then(day.dt.to_string("%Y")).otherwise(day_said(day))


def _due_said() -> pl.Expr:
    word = pl.when(none_failed()).then(pl.lit("about")).otherwise(pl.lit("on"))
    return pl.format("{} {}", word, as_well_as_known(pl.col("due_on")))


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
            "Due {}, when the chance that it fails within {} reaches the limit of {}{}.",
            _due_said(),
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
    low, high = (as_well_as_known(pl.col(limit)) for limit in ("due_low", "due_high"))
    return pl.coalesce(
        pl.when(low != high).then(pl.format(" (between {} and {})", low, high)),
        pl.when(low == high).then(pl.lit("")),
        pl.format(" (not before {}, perhaps never)", low),
        pl.lit(""),
    )
