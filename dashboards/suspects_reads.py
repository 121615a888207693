"""The cached read of the page on batches and designs."""

from datetime import date
from pathlib import Path

import ready

from fleet.flow.suspects import Suspects
from fleet.flow.suspects import suspects as batch_or_design
from fleet.flow.table import Settings

Key = tuple[str, str]
LEVEL = 0.90  # of the limits on the page


@ready.kept("Holding batches against one another", long="about half a minute")
def suspects(key: Key, as_of: date, level: float, settings: Settings) -> Suspects:
    """Verdicts, shares and sentences; nobody changes them."""
    return batch_or_design(Path(key[0]), as_of=as_of, level=level, settings=settings)
