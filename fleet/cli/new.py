"""fleet new."""

from fleet.cli.options import Where
from fleet.cli.words import say


def command(
    *,
    where: Where,
) -> None:
    """Create an empty store.

    Example:
        fleet new --store club.duckdb
    """
    from fleet.flow.entering import create_store

    create_store(where.store)
    say(f"Created {where.store}. Next: fleet import FOLDER, or fleet add model NAME.")
