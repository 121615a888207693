"""Contracts of the computed tables. Ages from the store are days; a life table file keeps its
own unit, and results come back in the unit that went in.
"""

import polars as pl

F: pl.DataType = pl.Float64()
S: pl.DataType = pl.String()
B: pl.DataType = pl.Boolean()
D: pl.DataType = pl.Date()
N: pl.DataType = pl.Int64()

# The life table every fit reads; any further columns are group columns.
LIFE = pl.Schema(
    {
        "entry": F,  # age at which the life came under observation; 0 from new
        "low": F,  # the failure lies in (low, high]; exact: low = high
        "high": F,  # null: still good when last seen, at age `low`
        "known_by": F,  # age at data cut-off of a life known only because it failed; else null
        "count": F,  # how many identical lives; a share where the cause is unknown
    }
)

# A life table built from the store: LIFE in days, and where each row came from.
LIVES = pl.Schema(
    {
        **dict(LIFE),
        "unit": S,
        "model": S,
        "batch": S,  # of the parts in this set; null: unknown
        "set_no": N,  # 1: the factory set
        "parts": S,  # original, replaced_known (batch known), replaced_unknown, partial
        "position": S,  # null unless lives are built by position
        "source": S,
        "end": S,  # failed, working, planned, reading, swapped, retired, other_cause, lost_sight
        "noticed": S,  # failures of units enrolled working: in_use or at_check; else null
        "enrolled_because": S,  # working or failed, for the set fitted at enrolment; else null
        "reports": S,  # ids of the reports behind the row, joined by ;
    }
)

# What was left out of the lives, and why.
LEFT_OUT = pl.Schema({"unit": S, "set_no": N, "reason": S, "reports": S})

# One row for each unit thought to be running: what the due list starts from.
WORKING = pl.Schema(
    {
        "unit": S,
        "model": S,
        "batch": S,
        "set_no": N,
        "parts": S,
        "started": D,  # middle of the range in which the present set began its life
        "started_earliest": D,
        "started_latest": D,
        "oldest_started": D,  # start of the oldest parts on the board: differs for partial sets
        "last_known_working": D,  # null: never reported working
        "failed_once": B,  # failed by a capacitor, then ran again without a recap
        "hours_per_year": F,
        "ambient_c": F,
        "source": S,
        "reports": S,
    }
)

# Points of a survival curve. Group columns come first.
CURVE = pl.Schema(
    {
        "age": F,
        "at_risk": F,
        "failures": F,
        "survival": F,  # just after `age`
        "survival_low": F,
        "survival_high": F,
        "cumulative_hazard": F,
        "supported": B,  # false where too few are at risk to draw
    }
)

# Weibull fits. Group columns come first. Null: does not exist, or unbounded on that side.
FIT = pl.Schema(
    {
        "lives": F,
        "failures": F,
        "exists": B,
        "reason": S,  # why there is no estimate, or why a limit is unbounded; else null
        "shape": F,
        "shape_low": F,
        "shape_high": F,
        "scale": F,
        "scale_low": F,
        "scale_high": F,
        "b10": F,
        "b10_low": F,
        "b10_high": F,
        "log_likelihood": F,
    }
)

# What the decisions read: one row per model and one per model and batch with enough failures.
# Ages in days.
ESTIMATES = pl.Schema(
    {
        "model": S,
        "batch": S,  # null: the model as a whole
        "parts": S,  # original or replaced
        "lives": F,
        "failures": F,
        "exists": B,
        "reason": S,
        "shape": F,
        "shape_low": F,
        "shape_high": F,
        "scale": F,
        "oldest_age": F,  # largest age at which lives were still watched
        "prompt_share": F,  # share of failures noticed in use rather than found at a check
    }
)

# Edge of the likelihood region of a Weibull fit: every (shape, scale) on the contour where the
# log-likelihood has fallen by half the chi-square quantile (1 degree of freedom). The range of
# any function of the parameters over it is that function's profile-likelihood interval.
REGION = pl.Schema({"model": S, "batch": S, "parts": S, "shape": F, "scale": F})

# What the posterior reads: lives of whole sets with what else bears on them. Ages in one unit.
EVIDENCE = pl.Schema(
    {
        **dict(LIFE),
        "model": S,
        "kind": S,  # of appliance; null: unknown
        "parts": S,  # original or replaced
        "batch": S,
        "ambient_c": F,
        "hours_per_year": F,
        "other_low": F,  # failure of unknown cause: watched until here had it been another cause
        "other_chance": F,  # rate (exact age) or chance (interval) of a failure of another cause
        "forgetful": B,  # its source never said since when it collects failures
    }
)

# Cells of the posterior: one for each batch of original and of replaced parts of a model, one for
# sets whose batch nobody told (null) where there are any, and one for parts still to be made (null,
# to_come).
CELLS = pl.Schema(
    {
        "cell": N,
        "model": S,
        "kind": S,
        "parts": S,
        "batch": S,
        "to_come": B,  # parts of a batch yet to be made; counts are those of all its model's
        "lives": F,
        "failures": F,
        "oldest_age": F,  # largest age at which its lives were still watched; null without any
        "borrowed": B,  # too few failures: the models of its kind stand behind the prior
        "usual_c": F,  # temperature that scales are given for
        "usual_hours": F,  # powered hours a year that scales are given for
        "mean_c": F,  # what stands in for a blank: law of temperatures of sets when new; null
        "sd_c": F,  # where none of the model is told
        "mean_log_hours": F,  # the same for logs of powered hours a year
        "sd_log_hours": F,
    }
)

# Draws of the posterior. Draw numbers are joint within a model.
DRAWS = pl.Schema(
    {
        "cell": N,
        "draw": N,
        "weight": F,  # adds up to 1 over the draws of a cell
        "shape": F,
        "scale": F,  # of the cell
        "centre": F,  # scale of the model's typical batch
        "spread": F,  # standard deviation of log batch scales
        "heat": F,  # strength of the ten-kelvin rule: 1 halves life every ten kelvin
        "calendar": F,  # share of ageing that goes on without power
    }
)

# The due list. Ages in days inside, years in what commands print.
DUE = pl.Schema(
    {
        "unit": S,
        "model": S,
        "batch": S,
        "age": F,  # of the present set at as_of
        "last_known_working": D,
        "p_fail": F,  # chance of a capacitor failure within the horizon, given it works at as_of
        "p_fail_low": F,
        "p_fail_high": F,
        "p_failed_unseen": F,  # chance that it has failed already since last seen working
        "horizon_years": F,
        "optimal_age": F,  # null: never, run to failure
        "due_on": D,
        "due_low": D,
        "due_high": D,
        "overdue_days": F,
        "action": S,  # recap_now, recap_when_due, measure, check_in, leave
        "reason": S,
        "supported": B,
    }
)

# How recaps turned out, by model; what a plan counts on.
SUCCESS = pl.Schema(
    {
        "model": S,
        "jobs": N,  # recaps of whose outcome something is known
        "cured": N,  # of those, how many worked afterwards and did not fail early
        "success": F,  # chance that the next recap of the model succeeds
        "success_low": F,
        "success_high": F,
    }
)

# Dated jobs of a plan, in the order in which they are done.
JOBS = pl.Schema(
    {
        "unit": S,
        "model": S,
        "on": D,  # first day of the bench session it falls in
        "window": S,  # the month, as 2027-03
        "due_on": D,
        "moved_days": F,  # `on` less `due_on`; below zero: brought forward
        "hours": F,  # at the bench, without setting up
        "cost": F,  # of the job, parts and labour
        "cost_of_moving": F,  # expected, against the best month with a free bench
        "p_fail_before": F,  # chance that it fails before `on`
        "action": S,
        "reason": S,
    }
)

# Rows an import refused, kept for good.
REJECTED = pl.Schema({"file": S, "kind": S, "line": N, "reason": S, "row": S})
