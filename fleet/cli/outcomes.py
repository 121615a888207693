"""fleet outcomes."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, When, Where
from fleet.cli.output import print_table
from fleet.cli.words import busy, say, say_all

if TYPE_CHECKING:
    import polars as pl

    from fleet.flow.outcomes import Outcomes

LEVEL = 0.90
EARLY_MONTHS = 6.0


def command(
    *,
    by: Annotated[
        Literal["model", "job", "position"],
        typer.Option(
            help="A row for each model; for each recap or swapped board; or for each position "
            "measured before or after one."
        ),
    ] = "model",
    early_months: Annotated[
        float,
        typer.Option(help="Failing again within so many months is early.", min=0.5, max=60.0),
    ] = EARLY_MONTHS,
    level: Annotated[
        float, typer.Option(help="Of the limits: 0.9 means 90 %.", min=0.5, max=0.9999)
    ] = LEVEL,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Say how recaps turned out: cured or not, failed again early, readings before and after.

    A recap succeeded when the machine worked afterwards (fleet log ... --cured yes, else what
    later reports show) and did not fail again early. The chance that the next one succeeds rests
    on the model's own jobs, with the other models of its kind and the whole store behind them.
    Early failures are held against what fresh parts and other causes do by themselves.

    Keys of --json, a row a model: jobs (of known outcome), cured (of those, succeeded), success,
    success_low, success_high, recaps, unknown, not_cured, failed_early; early_watched,
    early_failed, early_expected, early_chance (recaps of all positions: how many were watched,
    failed early, would have without harm by the job, and the chance of as many by luck);
    no_after_reading, after_fails, swaps. --by job has ages in days.

    Example:
        fleet outcomes
        fleet outcomes --by job --early-months 12
        fleet outcomes --by position --as-of 2026-05-31 --csv
    """
    from fleet.flow.outcomes import outcomes

    with busy("Looking at what became of the recaps"):
        found = outcomes(where.store, as_of=when.day, early_months=early_months, level=level)
    frame = {"model": found.frame, "job": found.jobs, "position": found.positions}[by]
    screen = {"model": _models, "job": _jobs, "position": _positions}[by](frame, level)
    print_table(frame, form, screen=screen, empty=_nothing(by, when.day.isoformat()))
    _say(found, by)


def _nothing(by: str, day: str) -> str:
    what = "reading before or after a recap" if by == "position" else "recap"
    return f"No {what} was known on {day}."


def _say(found: "Outcomes", by: str) -> None:
    if by == "model":
        for model, sentences in found.words.items():
            say(f"{model}: {' '.join(sentences)}")
    if not found.jobs.is_empty():
        say_all(found.notes)


def _models(frame: "pl.DataFrame", level: float) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between, short

    return frame.select(
        "model",
        pl.format("{} of {}", "cured", "jobs").alias("succeeded"),
        percent("success", name="chance the next succeeds"),
        percent_between("success_low", "success_high", name=f"{100 * level:.4g} % limits"),
        pl.col("not_cured").alias("did not cure"),
        pl.col("failed_early").alias("failed again soon"),
        pl.when(pl.col("early_watched") > 0)
        .then(pl.format("{} of {}", "early_failed", "early_watched"))
        .alias("soon, after all positions"),
        short(pl.col("early_expected")).alias("would so anyway"),
        percent("early_chance", name="as many by luck"),
        pl.col("unknown").alias("outcome not told"),
        pl.col("after_fails").alias("bad reading after"),
        pl.col("no_after_reading").alias("no reading after"),
    )


def _jobs(frame: "pl.DataFrame", level: float) -> "pl.DataFrame":
    import polars as pl

    return frame.select(
        "unit",
        "on",
        pl.col("how").str.replace_all("_", " "),
        pl.when("whole").then(pl.lit("all")).otherwise("positions").alias("positions"),
        "because",
        "symptom",
        "cured",
        pl.col("known_by").str.replace_all("_", " "),
        pl.when("failed_early").then(pl.lit("yes")).alias("failed again soon"),
        pl.col("again_after").cast(pl.Int64).alias("failed again after (days)"),
        "again_cause",
        pl.col("after").str.replace_all("_", " ").alias("reading after"),
        "model",
        "record",
    )


def _positions(frame: "pl.DataFrame", level: float) -> "pl.DataFrame":
    import polars as pl

    both = [
        pl.concat_str(
            pl.col(f"{c}_before").cast(pl.String).fill_null("-"),
            pl.lit(" > "),
            pl.col(f"{c}_after").cast(pl.String).fill_null("-"),
        ).alias(f"{name} before > after")
        for c, name in (("esr_ohm", "ESR (ohm)"), ("capacitance", "capacitance"),
                        ("volts_positive", "V at +"), ("volts_negative", "V at -"))
        if frame[f"{c}_before"].is_not_null().any() or frame[f"{c}_after"].is_not_null().any()
    ]  # fmt: skip
    return frame.select(
        "unit",
        "on",
        "position",
        *both,
        pl.col("verdict_before").alias("before"),
        pl.col("after").str.replace_all("_", " "),
        "model",
    )
