"""Cached answers of the page on the data's health."""

from datetime import date
from pathlib import Path

import reads
import ready

from fleet.flow.answers import lives
from fleet.flow.bias_sources import completeness
from fleet.flow.checking import check
from fleet.flow.pooling import pooling
from fleet.flow.table import Answer, Table


@ready.kept("Measuring what each gap in the records does to the answers")
def checked(key: reads.Key, as_of: date) -> Answer:
    """Findings, the weightiest first."""
    return check(Path(key[0]), as_of=as_of, progress=ready.tell)


@ready.kept("Building the life table")
def table(key: reads.Key, as_of: date) -> Table:
    """The life table, ages in days."""
    return lives(Path(key[0]), as_of=as_of)


@ready.kept("Counting what each source told")
def sources(key: reads.Key, as_of: date) -> Answer:
    """How complete each source is."""
    return completeness(table(key, as_of), Path(key[0]), as_of=as_of)


@ready.kept("Testing whether lives may be taken together")
def pooled(key: reads.Key, as_of: date) -> Answer:
    """Why lives were or were not taken together."""
    return pooling(table(key, as_of), Path(key[0]), as_of=as_of)
