"""fleet fit."""

from typing import TYPE_CHECKING, Annotated

import typer

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.tables_in import Chosen, TableIn, read_table
from fleet.cli.words import busy, say, say_all, say_background

if TYPE_CHECKING:
    import polars as pl

_FITS_SAID = 5
_MODELS_POOLED = 2  # beyond it whole seconds are needed to look
_ENDS = "Failures of unknown cause are shared out; both ends of it: fleet check --show causes."
_POOLED = ("build_year", "batches", "revisions", "positions")  # --check looks at the rest
_ENOUGH_TO_CHECK = 5  # failures; with fewer nothing can be told


def command(
    *,
    chosen: Chosen,
    check: Annotated[
        bool,
        typer.Option(
            "--check",
            help="Instead: does the Weibull fit, and would another distribution do better?",
        ),
    ] = False,
    reach: Annotated[
        float | None,
        typer.Option(
            metavar="AGE",
            help="Instead: how many are still good at this age, and how many of those fail soon "
            "after.",
        ),
    ] = None,
    within: Annotated[
        float | None,
        typer.Option(metavar="TIME", help="With --reach: how soon. Without it: 2.", min=0.0),
    ] = None,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Fit Weibull distributions, or say why none exists.

    Shape above 1: they wear out. Scale: the age by which 63 % have failed. B10: the age by which
    10 % have. Limits are profile-likelihood limits. A group without an estimate is no error.

    Example:
        fleet fit --by model,batch
        fleet fit --lives lives.csv --json
        fleet fit --by model --check
        fleet fit --by model --reach 15 --within 2
    """
    import polars as pl

    if within is not None and reach is None:
        raise typer.BadParameter("--within says how soon after --reach; give both")
    if check and reach is not None:
        raise typer.BadParameter("give --check or --reach, not both", param_hint="--reach")
    source = read_table(chosen, reading, where, when)
    if check:
        _check(chosen, source, form)
        return
    if reach is not None:
        _chances(chosen, source, form, reach, 2.0 if within is None else within)
        return
    from fleet.flow.answers import weibull

    groups = list(chosen.columns)
    with busy(f"Fitting {source.table.lives.height:,} lives"):
        answer = weibull(source.table, by=groups, level=chosen.level, settings=source.settings)
    frame = answer.frame.with_columns(pl.lit(source.age_unit, pl.String).alias("age_unit"))
    screen = _screen(frame, groups, source)
    print_table(frame, form, by=groups, screen=screen, empty="There is no life to fit.")
    if not (form.json or form.csv) and 0 < frame.height <= _FITS_SAID:
        say(f"In brackets: {100 * chosen.level:.4g} % limits.")
        _say_fits(frame, groups, source.age_unit or "units of age")
        if frame.filter(pl.col("exists") & (pl.col("failures") >= _ENOUGH_TO_CHECK)).height:
            say("Whether a Weibull describes them: the same with --check.")
        say_all(_pooled(source, when, where))
    say_all(answer.notes)
    say_background(source.table.notes, elsewhere=source.table.from_store)


def _pooled(source: TableIn, when: When, where: Where) -> tuple[str, ...]:
    """Why lives of few models were or were not taken together; of many, where to read it.
    And where failures of unknown cause were shared out, where both ends are.
    """
    if not source.table.from_store or source.table.lives.is_empty():
        return ()
    shares = source.table.shares
    ends = () if not shares["unknown"].sum() else (_ENDS,)
    if source.table.lives["model"].n_unique() > _MODELS_POOLED:
        return (*ends, "Whether their lives may be taken together: fleet check --show pooling.")
    from fleet.flow.pooling import pooling, pooling_notes

    with busy("Looking whether lives may be taken together"):
        answer = pooling(source.table, where.store, as_of=when.day, questions=_POOLED)
    return (*ends, *pooling_notes(answer))


def _chances(chosen: Chosen, source: TableIn, form: Form, reach: float, within: float) -> None:
    import polars as pl

    from fleet.cli.screen import percent, percent_between
    from fleet.flow.chances import chances

    groups = list(chosen.columns)
    with busy(f"Fitting {source.table.lives.height:,} lives"):
        answer = chances(
            source.table,
            reach=reach,
            within=within,
            by=groups,
            level=chosen.level,
            settings=source.settings,
        )
    frame = answer.frame.with_columns(
        pl.lit(reach).alias("reach"),
        pl.lit(within).alias("within"),
        pl.lit(source.age_unit, pl.String).alias("age_unit"),
    )
    screen = frame.select(
        *groups,
        "lives",
        "failures",
        percent("good", name=f"good at {reach:g}"),
        percent_between("good_low", "good_high", name="limits"),
        percent("fails", name=f"fail within {within:g} more"),
        percent_between("fails_low", "fails_high", name="limits of that"),
        pl.col("reason").alias("why no estimate or limit"),
    )
    print_table(frame, form, by=groups, screen=screen, empty="There is no life to fit.")
    say_all(answer.notes)
    say_background(source.table.notes, elsewhere=source.table.from_store)


def _check(chosen: Chosen, source: TableIn, form: Form) -> None:
    import polars as pl

    from fleet.flow.fit_check import check_fit

    groups = list(chosen.columns)
    with busy("Drawing fleets that follow the Weibull"):
        answer = check_fit(source.table, by=groups, level=chosen.level, settings=source.settings)
    frame = answer.frame.with_columns(pl.lit(source.age_unit, pl.String).alias("age_unit"))
    screen = _check_screen(frame, groups, source)
    print_table(frame, form, by=groups, screen=screen, empty="There is no life to fit.")
    say_all(answer.notes)
    say_background(source.table.notes, elsewhere=source.table.from_store)


def _check_screen(frame: "pl.DataFrame", groups: list[str], source: TableIn) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between, short

    unit = f" ({source.age_unit})" if source.age_unit else ""
    return frame.select(
        *groups,
        pl.col("distribution").str.replace_all("_", " "),
        "failures",
        pl.col("aic_few").round(1).alias("AIC"),
        short(pl.col("b10")).alias(f"B10{unit}"),
        percent("share_that_can_fail", name="can fail"),
        percent_between("share_low", "share_high", name="can fail, limits"),
        percent("p_value", name="chance alone"),
        pl.col("p_value_of").alias("makes"),
        pl.col("reason").alias("why there is none"),
    )


def _screen(frame: "pl.DataFrame", groups: list[str], source: TableIn) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import with_limits

    unit = f" ({source.age_unit})" if source.age_unit else ""
    return frame.select(
        *groups,
        "lives",
        "failures",
        with_limits("shape"),
        with_limits("scale", name=f"scale{unit}"),
        with_limits("b10", name=f"B10{unit}"),
        "log_likelihood",
        pl.col("reason").alias("why no estimate or limit"),
    )


def _say_fits(frame: "pl.DataFrame", groups: list[str], unit: str) -> None:
    from fleet.flow.read_aloud import fit_words, group_name

    for row in frame.iter_rows(named=True):
        name = group_name(row, groups, all_of_them="All lives")
        say(f"{name}: {fit_words(row, unit=unit)}")
