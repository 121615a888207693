"""fleet demo."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.dashboard import FIRST_PORT
from fleet.cli.options import Ages, Form, today
from fleet.cli.words import busy, counted, say

_SHOWN = 20  # rows of the due list on the screen


def command(
    *,
    store: Annotated[
        Path,
        typer.Option(
            "--store",
            metavar="FILE",
            help="Where to build it. An earlier demo is replaced, any other store refused.",
        ),
    ] = Path("demo.duckdb"),
    no_browser: Annotated[
        bool,
        typer.Option("--no-browser", help="Build the store, print the due list, and end there."),
    ] = False,
    port: Annotated[
        int, typer.Option(help="The next free one is taken if it is in use.", min=1, max=65535)
    ] = FIRST_PORT,
    ages: Annotated[Ages, typer.Option("--ages", help="Unit of the ages.")] = "years",
    form: Form,
) -> None:
    """Build the demo store, print its due list and open the dashboard.

    The records are invented. The list is as of the day on which the invented records end.

    Example:
        fleet demo --no-browser
        fleet demo --store /tmp/demo.duckdb
    """
    from fleet.cli.due import LEVEL, print_due
    from fleet.flow.demo import build_demo, suggested_as_of
    from fleet.flow.due import due

    with busy("Building the demo store"):
        imported = build_demo(store)
    kept = int(imported.counts["kept"].sum())
    say(f"Built {store} from {counted(kept, 'invented record')}.")
    as_of = suggested_as_of(store) or today()
    say(f"What is due as of {as_of.isoformat()}:")
    with busy("Working out what is due"):
        answer = due(store, as_of=as_of, level=LEVEL)
    first = None if form.json or form.csv else _SHOWN
    print_due(answer, form, ages=ages, as_of=as_of, level=LEVEL, first=first)
    say(f"All of it: fleet due --store {store} --as-of {as_of.isoformat()}")
    if not no_browser:
        from fleet.cli.server import serve

        serve(store, port=port, browser=True)
