"""fleet curve."""

from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.tables_in import Chosen, TableIn, read_table
from fleet.cli.words import busy, say, say_all, say_background

if TYPE_CHECKING:
    import polars as pl

_MEDIANS_SAID = 20


def command(
    *,
    chosen: Chosen,
    method: Annotated[
        Literal["auto", "km", "turnbull"],
        typer.Option(help="auto: Turnbull where lives have intervals, else Kaplan-Meier."),
    ] = "auto",
    repeated: Annotated[
        str | None,
        typer.Option(
            "--repeated",
            metavar="COLUMN",
            help="Machines that are repaired and go on: the column that names the machine.",
            show_default=False,
        ),
    ] = None,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Estimate survival curves, Kaplan-Meier or Turnbull.

    Units that came second-hand enter late, units still good count as long as they were watched.

    Example:
        fleet curve --by model
        fleet curve --lives lives.csv --by batch --json
        fleet curve --repeated unit --by model
    """
    if repeated is not None:
        from fleet.cli.repeated import show_repeated

        show_repeated(repeated, chosen, reading, when, where, form)
        return

    import polars as pl

    from fleet.flow.answers import survival

    source = read_table(chosen, reading, where, when)
    with busy("Estimating the curves"):
        answer = survival(
            source.table,
            by=chosen.columns,
            level=chosen.level,
            method=method,
            settings=source.settings,
        )
    frame = answer.frame.with_columns(pl.lit(source.age_unit, pl.String).alias("age_unit"))
    groups = list(chosen.columns)
    screen = _screen(frame, groups, source, level=100 * chosen.level)
    print_table(frame, form, by=groups, screen=screen, empty="There is no curve to draw.")
    if not (form.json or form.csv):
        _say_medians(answer.frame, groups, source.age_unit or "units of age")
    say_background(source.table.notes, elsewhere=source.table.from_store)
    say_all(answer.notes)


def _screen(
    frame: "pl.DataFrame", groups: list[str], source: TableIn, *, level: float
) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import percent, percent_between

    age = f"age ({source.age_unit})" if source.age_unit else "age"
    return frame.select(
        *groups,
        pl.col("age").alias(age),
        "at_risk",
        "failures",
        percent("survival", name="surviving"),
        percent_between("survival_low", "survival_high", name=f"{level:.4g} % limits"),
        "cumulative_hazard",
        pl.col("supported").alias("enough watched"),
    )


def _say_medians(points: "pl.DataFrame", groups: list[str], unit: str) -> None:
    from fleet.flow.read_aloud import group_name, median_words

    if points.is_empty():
        return
    if not groups:
        say(f"All lives: {median_words(points, unit=unit)}.")
        return
    parts = points.partition_by(groups, as_dict=True, maintain_order=True)
    for name, part in list(parts.items())[:_MEDIANS_SAID]:
        who = group_name(dict(zip(groups, name, strict=True)), groups, all_of_them="All lives")
        say(f"{who}: {median_words(part, unit=unit)}.")
