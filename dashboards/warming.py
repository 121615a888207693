"""What somebody will ask for next, worked out behind the pages: after the start, after a save, and
when a new day has begun, as every answer is one of a day.

Only where a server was started for people (FLEET_WARM): not in tests or programs of others.
"""

import os
import threading
from datetime import date, datetime, time, timedelta

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

_PAST_MIDNIGHT = 60.0  # seconds
_dawns: dict[str, threading.Timer] = {}  # by store


def warm(key: ready.Key, as_of: date, *, today: date) -> None:
    """In the order in which people come to ask: what is due first."""
    if not os.environ.get("FLEET_WARM"):
        return
    if as_of == today:
        _again_tomorrow(key, datetime.now())  # noqa: DTZ005 - days are those of the local calendar
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


def _again_tomorrow(key: ready.Key, now: datetime) -> None:
    """The same once the next day has begun, unless the store has changed by then."""
    midnight = datetime.combine(now.date() + timedelta(days=1), time())

    def dawn() -> None:
        if ready.is_newest(key):
            warm(key, midnight.date(), today=midnight.date())

    timer = threading.Timer((midnight - now).total_seconds() + _PAST_MIDNIGHT, dawn)
    timer.daemon = True
    if (before := _dawns.get(key[0])) is not None:
        before.cancel()
    _dawns[key[0]] = timer
    timer.start()
