"""fleet compare."""

from fleet.cli.options import Form, Reading, When, Where
from fleet.cli.output import print_table
from fleet.cli.tables_in import Chosen, read_table
from fleet.cli.words import busy, say_all


def command(
    *,
    chosen: Chosen,
    reading: Reading,
    when: When,
    where: Where,
    form: Form,
) -> None:
    """Test whether groups of lives are alike.

    By the log-rank test, and by the likelihood ratio of Weibull fits. A small
    p-value says that the groups differ. A test that cannot be done is left empty.

    Example:
        fleet compare --by batch
        fleet compare --lives lives.csv --by batch --json
    """
    from fleet.flow.answers import comparison

    source = read_table(chosen, reading, where, when)
    with busy(f"Comparing {source.table.lives.height:,} lives"):
        answer = comparison(source.table, by=list(chosen.columns), settings=source.settings)
    print_table(answer.frame, form, by=None, empty="There is nothing to compare.")
    say_all(source.table.notes)
    say_all(answer.notes)
