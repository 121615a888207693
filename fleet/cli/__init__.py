"""The command line, the only folder that imports typer. Commands are thin: options, one call of
fleet.flow, one output. Results go to stdout, words to stderr.
"""

from fleet.cli.app import main

__all__ = ["main"]
