"""What to do with each unit, and why, in words.

The first row that fits decides:

| the unit | action |
|---|---|
| failed once by a capacitor and runs again on the same parts | measure |
| age of its parts unknown | check_in |
| no estimate, or a cost unknown; silent | check_in |
| no estimate, or a cost unknown; otherwise | leave |
| fewer than three failures of its model known; silent | check_in |
| fewer than three failures of its model known; otherwise | leave |
| a recap in advance never pays | leave (and, silent: ask when you can) |
| due now, but more likely failed unseen than not | check_in |
| due now, evidence good | recap_now |
| due now, evidence weak | measure |
| not due, silent | check_in |
| not due | recap_when_due |

Silent: the chance that it has failed unseen is one in ten or more, or nobody has seen it working
for three years. Weak: something speaks against the date (see evidence), or it may be due only
later (by `due_high`) while the lower limit of the shape is below 1.25. Likely failed: a chance of
one half or more. These thresholds are our choice; no source.
"""

# METHODS: actions

from collections.abc import Sequence
from datetime import date

import polars as pl

from fleet.ages import days
from fleet.decisions.evidence import Doubt, against, rests_on
from fleet.decisions.policies import LEAST_COST, Policy
from fleet.decisions.policy_words import as_well_as_known, none_failed, when_due
from fleet.decisions.say import chance_said, day_said, horizon_said, years_said

SILENT_CHANCE = 0.10
SILENT_YEARS = 3.0
LIKELY_DEAD = 0.5
SHAPE_NEAR_ONE = 1.25

# Most urgent first.
ACTIONS = ("recap_now", "measure", "check_in", "recap_when_due", "leave")


def judge(
    units: pl.DataFrame, *, as_of: date, horizon_years: float, policy: Policy = LEAST_COST
) -> pl.DataFrame:
    """`units` with action, reason and supported added.

    `units` has the columns of frames.DUE but these three, and of its estimate and costs:
    failures, lives, of_parts, of_batch, batch_failures, shape, shape_low, shape_high, oldest_age,
    planned_cost, failure_cost, estimate, borrowed, by_kind, too_few, unplanned, why_none; and of
    the unit: parts, failed_once and seen, the day it was last known to work (when its set was
    fitted, where nobody has said since). The order of the rows is not kept.
    A rule that does not ask for costs, or for an estimate, does not wait for them; at a fixed age
    a unit is due whatever the evidence.
    """
    horizon = days(horizon_years)
    doubts = against(horizon_years, horizon, policy)
    has_estimate = pl.col("estimate").is_not_null() & pl.col("age").is_not_null()
    at = pl.lit(as_of)
    flagged = units.with_columns(
        supported=has_estimate & ~pl.any_horizontal(*(doubt.when for doubt in doubts)),
        _vague=pl.any_horizontal(*(doubt.when for doubt in doubts if doubt.of_date)),
        _silent=(pl.col("p_failed_unseen") >= SILENT_CHANCE).fill_null(False)
        | ((at - pl.col("seen")).dt.total_days() > days(SILENT_YEARS)).fill_null(False),
        _due=(pl.col("due_on") <= at).fill_null(False),
        _sure_by_now=(pl.col("due_high") <= at).fill_null(False)
        | (pl.col("shape_low") >= SHAPE_NEAR_ONE).fill_null(False),
    )
    table = _table(as_of, horizon_years, doubts, policy)
    first = pl.coalesce(*(pl.when(row[0]).then(pl.lit(n)) for n, row in enumerate(table)))
    placed = flagged.with_columns(_row=first).partition_by("_row", as_dict=True)
    # Each row of the table words only its own units: words are what takes time here.
    worded = [
        placed[(n,)].with_columns(action=pl.lit(action), reason=said)
        for n, (_, action, said) in enumerate(table)
        if (n,) in placed
    ]
    return pl.concat(worded) if worded else _no_rows(flagged)


def _no_rows(flagged: pl.DataFrame) -> pl.DataFrame:
    text = pl.lit(None, dtype=pl.String)
    return flagged.with_columns(action=text, reason=text)


def _table(
    as_of: date, horizon_years: float, doubts: Sequence[Doubt], policy: Policy
) -> list[tuple[pl.Expr, str, pl.Expr]]:
    """Rows of the table above: condition, action, reason."""
    silent, due = pl.col("_silent"), pl.col("_due")
    costless = pl.col("planned_cost").is_null() | pl.col("failure_cost").is_null()
    unknown = pl.lit(policy.needs_estimate) & (
        pl.col("estimate").is_null() | (pl.lit(policy.needs_costs) & costless)
    )
    unplanned = pl.lit(policy.needs_estimate) & pl.col("unplanned").fill_null(value=False)
    good = pl.lit(not policy.needs_estimate) | (pl.col("_sure_by_now") & ~pl.col("_vague"))
    said = when_due(policy)
    silence = _silence(as_of)
    quiet = pl.when(silent).then(silence)
    dead = (pl.col("p_failed_unseen") >= LIKELY_DEAD).fill_null(False)
    chance, doubt = _chance(horizon_years), _doubt(doubts)
    missing = pl.when(pl.col("estimate").is_null()).then(_no_estimate()).otherwise(_no_costs())
    return [
        (pl.col("failed_once").fill_null(False), "measure", _failed_once()),
        (pl.col("age").is_null(), "check_in", _no_age()),
        (unknown & silent, "check_in", _join(silence, missing, chance)),
        (unknown, "leave", _join(missing, chance)),
        (unplanned & silent, "check_in", _join(silence, _too_few(), chance)),
        (unplanned, "leave", _join(_too_few(), chance)),
        (
            pl.col("due_on").is_null(),
            "leave",
            _join(said.never, quiet, doubt),
        ),
        (due & dead, "check_in", _join(silence, said.now, doubt)),
        (due & good, "recap_now", _join(said.now, chance, quiet, rests_on(), doubt)),
        (due, "measure", _join(said.now, _measure(doubt), chance, quiet)),
        (silent, "check_in", _join(silence, said.later, doubt)),
        (pl.lit(True), "recap_when_due", _join(said.later, chance, rests_on(), doubt)),
    ]


def _join(*sentences: pl.Expr) -> pl.Expr:
    return pl.concat_str(*sentences, separator=" ", ignore_nulls=True)


def _failed_once() -> pl.Expr:
    return pl.lit(
        "A capacitor failed once and it runs again on the same parts: measure them now, for the "
        "lives of other units say nothing about parts that have failed before."
    )


def _no_age() -> pl.Expr:
    return pl.lit(
        "Nobody knows how old its parts are: give its build date, or read the date codes on the "
        "parts."
    )


def _no_estimate() -> pl.Expr:
    why = pl.coalesce("why_none", pl.lit("no lives are on record")).str.strip_chars(" .")
    return pl.format(
        "How long model {} lasts cannot be estimated yet ({}). What would help most: log the "
        "units that still work, beside those that failed.",
        pl.col("model"),
        why,
    )


def _too_few() -> pl.Expr:
    return pl.format(
        "Fewer than three failures of model {} are known: too few to plan on, so there is no date. "
        "The chance is what is usual for such parts at that age. What would help most: log every "
        "failure, and the units that still work.",
        pl.col("model"),
    )


def _no_costs() -> pl.Expr:
    planned, failure = pl.col("planned_cost").is_null(), pl.col("failure_cost").is_null()
    lacking = (
        pl.when(planned & failure)
        .then(pl.lit("a planned recap and a failure cost"))
        .when(planned)
        .then(pl.lit("a planned recap costs"))
        .otherwise(pl.lit("a failure costs"))
    )
    give = (
        pl.when(planned & failure)
        .then(pl.lit("--planned-cost and --failure-cost"))
        .when(planned)
        .then(pl.lit("--planned-cost"))
        .otherwise(pl.lit("--failure-cost"))
    )
    return pl.format(
        "What {} for model {} is not known, or not above zero: enter it with the model, or give "
        "{}.",
        lacking,
        pl.col("model"),
        give,
    )


def _measure(doubt: pl.Expr) -> pl.Expr:
    until = pl.coalesce(
        pl.format(
            "it may be due only {} {}",
            pl.when(none_failed()).then(pl.lit("about")).otherwise(pl.lit("on")),
            as_well_as_known(pl.col("due_high")),
        ),
        pl.lit("it may never be due"),
    )
    why = pl.when(pl.col("supported")).then(pl.format("The evidence leaves it open: {}.", until))
    return _join(why, doubt, pl.lit("Measure its parts before deciding."))


def _silence(as_of: date) -> pl.Expr:
    since = (pl.lit(as_of) - pl.col("seen")).dt.total_days().cast(pl.Float64)
    seen = pl.coalesce(
        pl.format(
            "Last seen working on {}, {} ago",
            day_said(pl.when(pl.col("last_known_working").is_not_null()).then("seen")),
            years_said(since),
        ),
        pl.lit("Nobody has reported it working since its parts were new"),
    )
    unseen = pl.coalesce(
        pl.format(
            "; the chance that it has failed since is {}", chance_said(pl.col("p_failed_unseen"))
        ),
        pl.lit(""),
    )
    return pl.format("{}{}: ask whether it still works.", seen, unseen)


def _chance(horizon_years: float) -> pl.Expr:
    span = horizon_said(horizon_years)
    low, high = chance_said(pl.col("p_fail_low")), chance_said(pl.col("p_fail_high"))
    limits = pl.coalesce(
        pl.when(low != high).then(pl.format(" (between {} and {})", low, high)), pl.lit("")
    )
    return pl.format(
        "Left as it is, the chance that it fails within {} is {}{}.",
        pl.lit(span),
        chance_said(pl.col("p_fail")),
        limits,
    )


def _doubt(doubts: Sequence[Doubt]) -> pl.Expr:
    """One sentence with everything that stands against leaning on the answer; null for none."""
    said = [pl.when(doubt.when).then(doubt.said) for doubt in doubts]
    every = pl.concat_str(*said, separator="; ", ignore_nulls=True)
    return pl.when(pl.any_horizontal(*(doubt.when for doubt in doubts))).then(
        pl.format("Not well supported: {}.", every)
    )
