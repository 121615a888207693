"""fleet dashboard."""

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
    where: Where,
) -> None:
    """Open the dashboard of a store, on this machine only.

    Example:
        fleet dashboard --store club.duckdb
    """
    from fleet.cli.server import serve
    from fleet.flow.demo import is_invented

    is_invented(where.store)  # opens the store: a fault is said here, not on a page
    serve(where.store, port=port, browser=not no_browser)
