"""fleet part: what is known of capacitors themselves, a file for each question."""

from importlib import import_module

import typer

from fleet.cli.app import HELP, Command
from fleet.cli.spread import spread

# The word after `fleet part`, and the file that holds its `command`.
QUESTIONS = {
    "check": "part_check",
    "life": "part_life",
    "code": "part_code",
}

command = typer.Typer(
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    context_settings=HELP,
    help="Answer questions about a part: may it stand in, how long it lasts, when it was made.\n\n"
    "Example:\n\n    fleet part check --model BM-2 --position C7",
)


@command.callback()
def _part() -> None:
    """Keep `fleet part` a group of commands, also while it holds one only."""


for _word, _file in QUESTIONS.items():
    _made = import_module(f"fleet.cli.{_file}").command
    command.command(_word, cls=Command, context_settings=HELP)(spread(_made))
