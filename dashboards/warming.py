"""What somebody will ask for next, worked out behind the pages: after the start and after a save.

Only where a server was started for people (FLEET_WARM): not in tests or programs of others.
"""

import os
from datetime import date

import choose_reads
import health_reads
import outcomes_reads
import reads
import ready
import suspects_reads
import today_reads
from due_choice import USUAL

from fleet.flow.outcomes import EARLY_MONTHS
from fleet.flow.table import Settings


def warm(key: ready.Key, as_of: date) -> None:
    """In the order in which people come to ask: what is due first."""
    if not os.environ.get("FLEET_WARM"):
        return
    for name, read in (
        ("due", lambda: reads.due(key, as_of, USUAL)),
        ("ask", lambda: today_reads.to_ask(key, as_of)),
        ("known", lambda: choose_reads.known(key, as_of)),
        ("outcomes", lambda: outcomes_reads.outcomes(key, as_of, EARLY_MONTHS)),
        ("suspects", lambda: suspects_reads.suspects(key, as_of, 0.90, Settings())),
        ("pooled", lambda: health_reads.pooled(key, as_of)),
        ("checked", lambda: health_reads.checked(key, as_of)),
    ):
        ready.make_ready(name, key, "Making ready what is asked for most", read)
