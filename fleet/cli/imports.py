"""fleet imports."""

from fleet.cli.options import Form, Where
from fleet.cli.output import print_table


def command(
    *,
    where: Where,
    form: Form,
) -> None:
    """List the imports, with the ids that undo takes.

    Example:
        fleet imports --store club.duckdb
    """
    from fleet.flow.importing import list_imports

    print_table(list_imports(where.store), form, empty="Nothing was imported yet.")
