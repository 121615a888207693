"""fleet curve --repeated: failures of machines that are repaired and go on."""

from typing import TYPE_CHECKING

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.tables_in import Chosen, TableIn, read_table
from fleet.cli.words import busy, say_all

if TYPE_CHECKING:
    import polars as pl


def show_repeated(
    unit: str, chosen: Chosen, reading: Reading, when: When, where: Where, form: Form
) -> None:
    """Print the mean number of failures of a machine by age, and say what it means."""
    import polars as pl

    from fleet.flow.repeated import repeated_failures

    source = _read(chosen, reading, where, when)
    groups = list(chosen.columns)
    with busy("Counting the failures"):
        answer = repeated_failures(source.table, unit=unit, by=groups, level=chosen.level)
    frame = answer.frame.with_columns(pl.lit(source.age_unit, pl.String).alias("age_unit"))
    screen = _screen(frame, groups, source.age_unit, level=100 * chosen.level)
    print_table(frame, form, by=groups, screen=screen, empty="There is no machine to count.")
    say_all(source.table.notes)
    say_all(answer.notes)


def _read(chosen: Chosen, reading: Reading, where: Where, when: When) -> TableIn:
    """A life table file as it is; from the store, each machine through all its sets."""
    if chosen.lives is not None:
        return read_table(chosen, reading, where, when)
    from fleet.flow.repeated import machine_histories
    from fleet.flow.table import Settings, in_years

    settings = Settings(unknown_cause=reading.unknown_cause, degraded_as=reading.degraded_as)
    with busy("Following the machines"):
        table = machine_histories(where.store, as_of=when.day, settings=settings)
    if chosen.ages == "days":
        return TableIn(table, settings, "days")
    return TableIn(in_years(table), settings, "years")


def _screen(
    frame: "pl.DataFrame", groups: list[str], unit: str | None, *, level: float
) -> "pl.DataFrame":
    import polars as pl

    from fleet.cli.screen import with_limits

    return frame.select(
        *groups,
        pl.col("age").alias(f"age ({unit})" if unit else "age"),
        "at_risk",
        "failures",
        with_limits("mean_failures", name=f"failures of a machine so far ({level:.4g} % limits)"),
        "supported",
    )
