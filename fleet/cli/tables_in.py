"""Where curve and fit take their life table from: the store, or any file that holds one."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from fleet.cli.options import Ages, Reading, When, Where, split_list
from fleet.cli.words import busy

if TYPE_CHECKING:
    from fleet.flow.answers import Settings, Table


@dataclass(frozen=True, slots=True)
class Chosen:
    """Which lives, in which groups."""

    by: Annotated[
        str | None,
        typer.Option(
            "--by",
            metavar="COLUMNS",
            help="Group by these, like model,batch. Without it: all lives as one group.",
        ),
    ] = None
    lives: Annotated[
        Path | None,
        typer.Option(
            "--lives", metavar="FILE", help="A life table file to read instead of a store."
        ),
    ] = None
    model: Annotated[
        str | None,
        typer.Option(metavar="NAMES", help="Only these models, like BZ62 or BZ62,DQ31."),
    ] = None
    parts: Annotated[
        Literal["original", "replaced", "partial", "all"] | None,
        typer.Option(
            help="Which sets. Without it: original ones only, or all where --by names parts."
        ),
    ] = None
    ages: Annotated[
        Ages | None,
        typer.Option(
            "--ages",
            help="Unit of the ages, years if not given; a life table file keeps its own.",
            show_default=False,
        ),
    ] = None
    level: Annotated[
        float, typer.Option(help="Of the limits: 0.95 means 95 %.", min=0.5, max=0.9999)
    ] = 0.95

    @property
    def columns(self) -> tuple[str, ...]:
        """The columns to group by."""
        return split_list(self.by)


@dataclass(frozen=True, slots=True)
class TableIn:
    """A life table with ages in the unit to print, and how it was read."""

    table: "Table"
    settings: "Settings"
    age_unit: Ages | None


def read_table(chosen: Chosen, reading: Reading, where: Where, when: When) -> TableIn:
    """The life table asked for. Usage error where --ages is given for a file."""
    from fleet.flow.answers import Settings, in_years, life_file, lives

    settings = Settings(
        unknown_cause=reading.unknown_cause,
        degraded_as=reading.degraded_as,
        by_position="position" in chosen.columns,
        parts=chosen.parts,
    )
    if chosen.lives is not None:
        if chosen.ages is not None:
            raise typer.BadParameter(
                "a life table file keeps its own unit; leave --ages out", param_hint="--ages"
            )
        with busy(f"Reading {chosen.lives}"):
            return TableIn(_of_models(life_file(chosen.lives), chosen.model), settings, None)
    with busy("Building the life table"):
        table = lives(where.store, as_of=when.day, settings=settings)
    table = _of_models(table, chosen.model)
    if chosen.ages == "days":
        return TableIn(table, settings, "days")
    return TableIn(in_years(table), settings, "years")


def _of_models(table: "Table", names: str | None) -> "Table":
    """The lives of some models only. Usage error where one is not there."""
    from dataclasses import replace

    import polars as pl

    wanted = split_list(names)
    if not wanted:
        return table
    if "model" not in table.lives.columns:
        raise typer.BadParameter(
            "this life table has no column model; leave --model out", param_hint="--model"
        )
    known = table.lives["model"].drop_nulls().unique().sort().to_list()
    for name in wanted:
        if name not in known:
            raise typer.BadParameter(
                f"there is no life of a model {name}; there are {', '.join(known)}",
                param_hint="--model",
            )
    return replace(table, lives=table.lives.filter(pl.col("model").is_in(wanted)))
