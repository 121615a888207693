"""The command list, loaded one command at a time, and the one place an error becomes an exit code.

0: done (also with nothing to list); 1: data or store at fault; 2: wrong usage.
"""

import io
import os
import sys
from datetime import UTC, datetime
from difflib import get_close_matches
from importlib import import_module
from typing import Annotated, Any

import typer
import typer.core
import typer.main

from fleet.cli.spread import spread
from fleet.cli.words import say

# Command, the file that holds it, and the line `fleet --help` shows: its docstring's first
# sentence, repeated here because reading it from the file would load every command.
COMMANDS: dict[str, tuple[str, str]] = {
    "new": ("new", "Create an empty store."),
    "demo": ("demo", "Build the demo store, print its due list and open the dashboard."),
    "import": ("importing", "Import record files, a folder of them, or open repair data."),
    "undo": ("undo", "Take a whole import back."),
    "imports": ("imports", "List the imports, with the ids that undo takes."),
    "rejects": ("rejects", "List the rows that imports refused, each with its reason."),
    "add": ("add", "Add one record: a machine, a part, a price, a step for the bench, and so on."),
    "log": ("log", "Log what was seen on a day, of one unit or of many (a roll call)."),
    "amend": ("amend", "Correct a record; the corrected one supersedes it."),
    "trail": ("trail", "Say who did what, when and through which command or page."),
    "unit": ("unit", "Tell the history of one machine, from birth to now, and when it is due."),
    "lives": ("lives", "Print the life table: how long each set of capacitors has lasted."),
    "curve": ("curve", "Estimate survival curves, Kaplan-Meier or Turnbull."),
    "fit": ("fit", "Fit Weibull distributions, or say why none exists."),
    "compare": ("compare", "Test whether groups of lives are alike, and what shortens them."),
    "suspects": (
        "suspects",
        "Say whether batches or the design end the machines, the most suspect batches first.",
    ),
    "due": ("due", "List every working unit, its chance of failing, and when it is due."),
    "changed": (
        "changed",
        "Say what changed since a day: new reports, machines now due or gone, other verdicts.",
    ),
    "policies": (
        "policies",
        "Say what each rule for renewing parts costs a year, beside running to failure.",
    ),
    "choose": (
        "choose",
        "Say whether to keep, recap or replace one machine, and what would flip the choice.",
    ),
    "plan": (
        "plan",
        "Plan the recaps that are due: which machine in which month, within the bench's hours.",
    ),
    "order": (
        "order",
        "List the parts to order for a window of the plan, net of the shelf, with spares.",
    ),
    "part": (
        "part",
        "Answer questions about a part: may it stand in, how long it lasts, when it was made.",
    ),
    "sheet": (
        "sheet",
        "Write the bench sheet of a machine: cautions, parts, places, checks, room to write.",
    ),
    "outcomes": (
        "outcomes",
        "Say how recaps turned out: cured or not, failed again early, readings before and after.",
    ),
    "expect": (
        "expect",
        "Say how many machines will fail in each quarter to come, to buy parts by.",
    ),
    "backtest": (
        "backtest",
        "Say how well past advice did: chances and dates of past days beside what happened.",
    ),
    "report": (
        "report",
        "Write the report of a group: due list, failures to expect, curves, batches, plan, order.",
    ),
    "check": ("check", "Say what in the data hurts the answers most, and what to ask for next."),
    "export": ("export", "Write every record to files that import reads back."),
    "backup": ("backup", "Copy the store to a file and prove the copy by counting."),
    "restore": ("restore", "Make a store from a backup."),
    "dashboard": (
        "dashboard",
        "Open the dashboard of a store: on this machine only, or for a group that signs in.",
    ),
}


class Command(typer.core.TyperCommand):
    """A command whose help keeps the lines of its Example block as they are."""

    def invoke(self, ctx: Any) -> Any:  # noqa: ANN401
        """Run it; what it writes stands in the trail under its name and the hour."""
        from fleet.occasion import Occasion, on_occasion

        with on_occasion(Occasion(through=ctx.command_path, clock=_clock)):
            return super().invoke(ctx)

    def format_help_text(self, ctx: Any, formatter: Any) -> None:  # noqa: ANN401
        """Write the description, then the example line by line."""
        words, _, example = (self.help or "").partition("Example:\n")
        formatter.write_paragraph()
        with formatter.indentation():
            formatter.write_text(words.strip())
        if example:
            with formatter.section("Example"):
                for line in example.rstrip().splitlines():
                    formatter.write(f"{' ' * formatter.current_indent}{line.strip()}\n")


class Commands(typer.core.TyperGroup):
    """The commands by name; each is loaded from its file when it is asked for."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ANN401
        """Names in the order in which the work goes."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ANN401
        """The command called `cmd_name`, or None."""
        if cmd_name not in COMMANDS:
            return None
        return load(cmd_name)

    def format_commands(self, ctx: Any, formatter: Any) -> None:  # noqa: ANN401
        """List the commands without loading them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, line) for name, (_, line) in COMMANDS.items()])

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:  # noqa: ANN401
        """As Typer's, with our names to choose from when it says 'Did you mean'."""
        near = get_close_matches(args[0], COMMANDS)
        if args[0] not in COMMANDS and not args[0].startswith("-") and near:
            ctx.fail(f"No such command '{args[0]}'. Did you mean '{near[0]}'?")
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: Any) -> Any:  # noqa: ANN401
        """Run a command; a FleetError is one sentence and exit code 1."""
        from fleet.errors import FleetError

        try:
            return super().invoke(ctx)
        except (typer.Exit, typer.Abort):
            raise
        except typer.TyperException as error:
            # What checks values for Typer puts its own name for the fault before the sentence.
            error.message = error.message.replace("Value error, ", "")
            raise
        except FleetError as error:
            _stop(error, str(error))
        except KeyboardInterrupt:
            say("Stopped.")
            raise typer.Exit(130) from None
        except BrokenPipeError:
            raise
        except OSError as error:
            _stop(error, _about_file(error))
        except Exception as error:  # the last stop, for a fault of ours
            _stop(
                error,
                f"This is a fault in fleet, not in your data ({type(error).__name__}: {error}); "
                "please report it with what `FLEET_DEBUG=1 fleet ...` prints",
            )


def _clock() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)


def _about_file(error: OSError) -> str:
    where = f" at {error.filename}" if error.filename else ""
    return f"The system refused{where}: {error.strerror or error}"


def _stop(error: Exception, sentence: str) -> None:
    """Print one sentence and end with exit code 1; with FLEET_DEBUG=1 also where it arose."""
    if os.environ.get("FLEET_DEBUG") == "1":
        import traceback

        say("".join(traceback.format_exception(error)))
    say(f"Error: {sentence.rstrip('.')}.")
    raise typer.Exit(1) from error


def load(name: str) -> Any:  # noqa: ANN401 - typer's command classes share no public base
    """The command called `name`, ready to run."""
    made = import_module(f"fleet.cli.{COMMANDS[name][0]}").command
    if isinstance(made, typer.Typer):
        group = typer.main.get_command(made)
        group.name = name
        return group
    one = typer.Typer(rich_markup_mode=None, add_completion=False)
    one.command(name, cls=Command, context_settings=HELP)(spread(made))
    return typer.main.get_command(one)


HELP = {"help_option_names": ["-h", "--help"], "max_content_width": 100}

app = typer.Typer(
    cls=Commands,
    rich_markup_mode=None,
    add_completion=False,
    pretty_exceptions_enable=False,
    no_args_is_help=True,
    context_settings=HELP,
)


def _version(wanted: bool) -> None:
    if wanted:
        from fleet import __version__

        typer.echo(__version__)
        raise typer.Exit


@app.callback()
def _fleet(
    _version: Annotated[
        bool, typer.Option("--version", help="Print the version.", callback=_version, is_eager=True)
    ] = False,
) -> None:
    """Keep a set of identical, ageing appliances alive: log what is seen, learn how long the
    capacitors last, and list which unit is due for a recap when.

    The store is the file in --store, else in FLEET_STORE, else fleet.duckdb in this folder.
    """


def main() -> None:
    """Entry point of the executable `fleet`."""
    # numpy is not loaded yet: with threads of its own beside ours small matrices take 1.4 to 4
    # times as long; the dashboard's server inherits it
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that knows only ASCII gets "?"
    app(prog_name="fleet")
