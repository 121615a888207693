"""What can go wrong, each said in one sentence: what, where, and what to do.

Every error a user can cause is a FleetError; the command line turns it into exit code 1
and the pages show its text. Anything else is a fault of ours.
"""


class FleetError(Exception):
    """Base of every error with a sentence for the user."""


class BadFrame(FleetError):
    """A table handed to a function lacks a column, or has one of the wrong type or content."""


class BadInput(FleetError):
    """A file or a typed value that cannot be read as what it should be."""


class NotKnown(FleetError):
    """A name (unit, record, import, kind) that the store does not have."""


class Conflict(FleetError):
    """A record that contradicts what the store already holds."""


class StoreProblem(FleetError):
    """The store cannot be opened, read or written."""
