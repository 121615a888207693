"""fleet dashboard."""

from pathlib import Path
from typing import Annotated

import typer

from fleet.cli.options import Where

FIRST_PORT = 8501


def command(
    *,
    port: Annotated[
        int, typer.Option(help="The next free one is taken if it is in use.", min=1, max=65535)
    ] = FIRST_PORT,
    no_browser: Annotated[
        bool, typer.Option("--no-browser", help="Serve it without opening a browser.")
    ] = False,
    group: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE", help="Serve a group's network: who may do what, and how to sign in."
        ),
    ] = None,
    where: Where,
) -> None:
    """Open the dashboard of a store: on this machine only, or for a group that signs in.

    Example:
        fleet dashboard --store club.duckdb
        fleet dashboard --store club.duckdb --group club.toml
    """
    from fleet.cli.server import serve, serve_group
    from fleet.flow.demo import is_invented

    is_invented(where.store)  # opens the store: a fault is said here, not on a page
    if group is not None:
        serve_group(where.store, group, port=port)
    else:
        serve(where.store, port=port, browser=not no_browser)
