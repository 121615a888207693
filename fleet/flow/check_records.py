"""Records that are missing, contradict each other, or describe nothing."""

from collections.abc import Iterator
from dataclasses import replace

import polars as pl

from fleet.ages import DAYS_PER_YEAR, days_expr
from fleet.flow.check_effects import Effect, chosen_lives, fit_models, more_failures, narrowed
from fleet.flow.check_finding import NEGLIGIBLE, Finding, Look, effect_of

_WIDE_YEARS = 0.99  # a build date known to a year or less well
_ASKED = 12  # machines named at a time
# What the reason says, the advice, and the advice without a command.
_ADVICE = (
    ("nothing says after which day it was built", "say when it was built, a year is enough",
     "Say when it was built; a year is enough."),
    ("began to collect failures", "nothing to do: they tell nothing of how long sets last",
     "Nothing to do: they tell nothing of how long sets last."),
    ("has not been seen working since", "say whether it runs again: fleet log working UNIT",
     "Log that it works, if it runs again."),
    ("no report tells of the failure", "report the failure: fleet log failed UNIT --on DATE",
     "Log the failure, with its date."),
    ("no day of enrolment and no report", "say when it came to be known, and that it works",
     "Say when it came to be known, and log that it works."),
)  # fmt: skip


def left_out(look: Look) -> Iterator[Finding]:
    """Units and sets without a life, by reason; disagreements of records by unit."""
    out = look.table.left_out
    failed = (
        look.records["reports"]
        .filter((pl.col("kind") == "failed") & (pl.col("cause").fill_null("unknown") != "other"))
        .select("unit", fell=pl.lit(1.0))
        .unique()
    )
    models = look.records["units"].select("unit", "model").unique("unit", keep="first")
    counted = (
        out.join(failed, on="unit", how="left")
        .join(models, on="unit", how="left")
        .sort("reason", "unit")
        .group_by("reason", maintain_order=True)
        .agg(
            "unit",
            pl.col("reports").drop_nulls().first(),
            pl.struct("model", pl.col("fell").fill_null(0.0)).alias("each"),
        )
    )
    for reason, units, reports, each in counted.iter_rows():
        useless = "began to collect failures" in reason
        extra: dict[str, float] = {}
        for row in each:
            extra[row["model"]] = extra.get(row["model"], 0.0) + row["fell"]
        advice, to_do = _advice(reason, reports)
        yield Finding(
            subject=look.some(units),
            finding=f"left out of the lives: {reason}",
            count=len(units),
            advice=advice,
            to_do=to_do,
            effect=0.0 if useless else effect_of(more_failures(look.base, extra)) or 0.0,
            ask=not useless,
            units=tuple(units[:_ASKED]),
        )


def _advice(reason: str, reports: str | None) -> tuple[str, str]:
    for words, advice, to_do in _ADVICE:
        if words in reason:
            return advice, to_do
    if reports:
        first = reports.split(";")[0]
        return (
            f"see which is right and correct it: fleet amend {first} --set COLUMN=VALUE",
            "See which report is right, and correct the other.",
        )
    return (
        "amend the record named, or add the missing date",
        "Correct what its records say, or add the missing date.",
    )


def build_dates(look: Look) -> Iterator[Finding]:
    """Machines without a date of manufacture, or with a rough one, and what exact ones would do."""
    early, late = pl.col("manufactured_earliest"), pl.col("manufactured_latest")
    wide = (days_expr(early, late) >= _WIDE_YEARS * DAYS_PER_YEAR).fill_null(value=True)
    units = look.records["units"].filter(wide)
    blank = pl.col("manufactured").is_null()
    for some, what, how, short in (
        (blank, "no date of manufacture", "a year YYYY is enough, even 199X",
         "a year is enough, even 199X"),
        (~blank, "built in a known year or range of years only", "a month YYYY-MM is enough",
         "a month is enough"),
    ):  # fmt: skip
        own = _widest_first(look, units.filter(some))
        if own.is_empty():
            continue
        effect = effect_of(_if_dated(look, own))
        yield Finding(
            subject=look.some(own["unit"].to_list()),
            finding=what,
            count=own.height,
            advice=_plate_words(own, how, hardly=effect is not None and effect < NEGLIGIBLE),
            to_do=f"Read it off the rating plate when the machine is at hand ({short}); off date "
            "codes of parts only when it is open anyway.",
            effect=effect,
            opens=True,
            units=tuple(own["unit"].head(_ASKED).to_list()),
        )


def _plate_words(units: pl.DataFrame, how: str, *, hardly: bool) -> str:
    plate = (
        "the rating plate first; date codes of parts only when the machine is open anyway. "
        f"{how[0].upper()}{how[1:]}"
    )
    if hardly:
        return f"note it when the machine is at hand anyway: {plate}"
    first = units.row(0, named=True)
    names = ", ".join(units["unit"].head(_ASKED))
    date = how.split()[2]
    return (
        f"read it off {plate}. First of {names}: for {first['unit']} it is "
        f"fleet amend {first['record']} --set manufactured={date}"
    )


def _widest_first(look: Look, units: pl.DataFrame) -> pl.DataFrame:
    """Units whose failure lies in the widest interval of age first; then those still running."""
    spread = (
        chosen_lives(look.table)
        .group_by("unit")
        .agg(width=(pl.col("high") - pl.col("low")).max().fill_null(0.0))
    )
    order = units.unique("unit", keep="first", maintain_order=True).join(
        spread, on="unit", how="left"
    )
    return order.sort("width", "unit", descending=[True, False], nulls_last=True)


def _if_dated(look: Look, units: pl.DataFrame) -> Effect | None:
    """The fits if the build dates of these units were known to the day: intervals of age of their
    failures narrower by the range of their build dates.
    """
    early, late = pl.col("manufactured_earliest"), pl.col("manufactured_latest")
    ranges = units.select("unit", range=days_expr(early, late))
    spread = pl.col("high") - pl.col("low")
    left = (spread - pl.col("range").fill_null(spread)).clip(lower_bound=0.0)
    middle = 0.5 * (pl.col("low") + pl.col("high"))
    theirs = (pl.col("theirs") & (pl.col("set_no") == 1) & (spread > 0.0)).fill_null(value=False)
    changed = (
        look.table.lives.join(
            ranges.with_columns(theirs=pl.lit(value=True)),
            on="unit",
            how="left",
            maintain_order="left",
        )
        .with_columns(
            low=pl.when(theirs)
            .then(pl.max_horizontal("entry", middle - 0.5 * left))
            .otherwise("low"),
            high=pl.when(theirs).then(middle + 0.5 * left).otherwise("high"),
        )
        .drop("range", "theirs")
    )
    return narrowed(look.base, fit_models(replace(look.table, lives=changed)))


def undescribed(look: Look) -> Iterator[Finding]:
    """Models and batches without a record, and costs nobody gave."""
    for kind, column in (("models", "model"), ("batches", "batch")):
        used = look.records["units"].filter(pl.col(column).is_not_null())
        if column == "batch":
            used = used.filter(~pl.col("batch").str.contains(":", literal=True))
        unknown = used.join(look.records[kind], on=column, how="anti")
        for (name,), rows in unknown.group_by(column, maintain_order=True):
            yield Finding(
                subject=str(name),
                finding=f"no record describes this {column}",
                count=rows.height,
                advice=f"fleet add {column} {name} ...",
                to_do=f"Bring in a list of {kind} with what is known of it.",
            )
    models = look.records["models"]
    of_model = dict(look.records["units"].unique("unit").group_by("model").len().iter_rows())
    wrong = pl.col("failure_cost") < pl.col("planned_cost")
    blank = pl.col("planned_cost").is_null() | pl.col("failure_cost").is_null()
    for name, record in models.filter(wrong).select("model", "record").iter_rows():
        yield Finding(
            subject=name,
            finding="a failure is said to cost less than a planned recap",
            count=1,
            advice="failure_cost is all a failure costs, its recap included: fleet amend "
            f"{record} --set failure_cost=...",
            to_do="The cost of a failure is all that it costs, its recap included: bring in the "
            "list of models corrected.",
            machines=of_model.get(name, 0),
            blocks=True,
        )
    for name, record in models.filter(blank).select("model", "record").iter_rows():
        yield Finding(
            subject=name,
            finding="no costs: no recap can be weighed",
            count=1,
            advice=f"fleet amend {record} --set planned_cost=... --set failure_cost=...",
            to_do="Say what a planned recap costs, and a failure: bring in the list of models with "
            "both.",
            machines=of_model.get(name, 0),
            blocks=True,
        )
