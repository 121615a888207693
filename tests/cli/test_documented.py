"""Every command is documented: an example in its help that parses, the same first line in the
command list, and a mention in the README.
"""

import re
import shlex
from pathlib import Path

import pytest
import typer.core

from fleet.cli.app import COMMANDS, load

ROOT = Path(__file__).resolve().parents[2]


def _commands():
    for name in COMMANDS:
        made = load(name)
        if isinstance(made, typer.core.TyperGroup):
            yield from ((f"{name} {inner}", one) for inner, one in made.commands.items())
        else:
            yield name, made


EVERY = dict(_commands())


def _examples(command):
    _, _, block = command.help.partition("Example:\n")
    return [line.strip() for line in block.splitlines() if line.strip()]


@pytest.mark.parametrize("name", EVERY)
def test_every_example_is_a_command_line_that_parses(name):
    examples = _examples(EVERY[name])
    assert examples, f"fleet {name} has no Example block in its docstring"
    for example in examples:
        program, *words = shlex.split(example)
        assert program == "fleet"
        assert words[: len(name.split())] == name.split()
        # Parsing refuses unknown options, missing arguments and words that are no choice.
        EVERY[name].make_context(name, words[len(name.split()) :])


@pytest.mark.parametrize("name", COMMANDS)
def test_command_list_says_what_the_docstring_says(name):
    assert COMMANDS[name][1] == load(name).help.strip().splitlines()[0]


@pytest.mark.parametrize("name", COMMANDS)
def test_readme_mentions_the_command(name):
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert re.search(rf"\bfleet {name}\b", text), f"README.md does not mention `fleet {name}`"


@pytest.mark.parametrize("name", EVERY)
def test_every_option_of_our_own_is_explained(name):
    # Options made from record columns (fleet add) need words only where the name is not enough.
    if name.startswith("add "):
        return
    silent = [p.name for p in EVERY[name].params if not getattr(p, "help", None)]
    assert silent == []
