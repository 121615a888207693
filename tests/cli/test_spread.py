"""Shared options as one object."""

import inspect
from dataclasses import dataclass
from typing import Annotated

import typer
from typer.testing import CliRunner

from fleet.cli.spread import spread


@dataclass(frozen=True)
class Shared:
    """Two options."""

    colour: Annotated[str, typer.Option("--colour")] = "red"
    loud: Annotated[bool, typer.Option("--loud")] = False


def paint(*, what: Annotated[str, typer.Argument()], shared: Shared, twice: bool = False) -> None:
    """Paint it."""
    typer.echo(f"{what} {shared.colour} {shared.loud} {twice}")


def test_fields_become_options_in_order():
    spreaded = spread(paint)
    assert list(inspect.signature(spreaded).parameters) == ["what", "colour", "loud", "twice"]
    assert spreaded.__doc__ == "Paint it."


def test_command_gets_the_object_back():
    app = typer.Typer()
    app.command()(spread(paint))
    done = CliRunner().invoke(app, ["door", "--colour", "blue", "--loud"])
    assert done.stdout == "door blue True False\n"
