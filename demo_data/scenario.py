"""The invented world of the demo: who keeps records, of which models, and the true parameters.

Nothing here is measured. No village, person, model, part or supplier is meant to be a real one.
"""

from dataclasses import dataclass
from datetime import date

SEED = 152
CUT = date(2026, 6, 30)
CURRENCY = "XTS"  # ISO 4217's code for testing: no country's money

# One capacitor batch of the bread maker lasts this share of what its model does.
BAD_BATCH = "Moss-0917"
BAD_FACTOR = 0.45
BATCH_LOG_SD = 0.08  # spread of the honest batches around their model

NO_WEAR_OUT = "IX07"

# Parts fitted by the menders: (batch, month made, life as a multiple of the model's).
REFIT_BATCHES: tuple[tuple[str, str, float], ...] = (
    ("Heron-1231", "2012-08", 1.20),
    ("Heron-1622", "2016-05", 1.25),
    ("Heron-1938", "2019-09", 1.20),
    ("Heron-2241", "2022-10", 1.30),
)


@dataclass(frozen=True, slots=True)
class Source:
    """Who collects: `collecting_since` is when, `month` the month of the yearly roll call."""

    name: str
    letter: str  # first letter of its unit names
    collecting_since: date
    keeps_roll_call: bool
    month: int
    people: tuple[str, ...]
    sites: tuple[str, ...]


SHED = Source(
    "Little Ambling lending shed",
    "S",
    date(2013, 1, 1),
    True,
    5,
    ("Odile", "Pim"),
    ("shelf, Little Ambling", "Ambling mill loft", "Netherpond farm", "Little Ambling school"),
)
UPPER = Source(
    "Upper Ambling mending evening",
    "U",
    date(2016, 1, 1),
    True,
    4,
    ("Tamsin", "Joren"),
    ("Upper Ambling", "Hatchel Lane", "Cold Ambling"),
)
QUAY = Source(
    "Ambling Quay mending evening",
    "Q",
    date(2017, 3, 1),
    False,
    0,
    ("Wilf",),
    ("Ambling Quay", "Saltmarsh Row"),
)
SOURCES = (SHED, UPPER, QUAY)


@dataclass(frozen=True, slots=True)
class Batch:
    """Factory capacitors of one model: machines built from `first` to `last` carry it."""

    name: str
    made: date  # the month matters
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Model:
    """One model with its truth: the life of a whole set is Weibull(shape, scale_years).

    Each position's own life is Weibull with the same shape; `weights` are the positions' shares
    of the cumulative hazard and add up to 1, so that the first failure on the board, the board's
    life, has exactly the shape and scale of the model times the batch.
    """

    name: str
    kind: str
    aliases: tuple[str, ...]
    shape: float
    scale_years: float
    other_per_year: float  # rate of failures that are no capacitor's
    weights: dict[str, float]
    batches: tuple[Batch, ...]
    planned_cost: int
    failure_cost: int
    bench_hours: float
    hours_per_year: tuple[int, int]
    symptoms: tuple[str, ...]
    notes: str

    @property
    def first_made(self) -> date:
        """Start of production."""
        return self.batches[0].first

    @property
    def last_made(self) -> date:
        """End of production."""
        return self.batches[-1].last


_CARE = (
    "Unplug, wait, and prove the large capacitor discharged before touching anything; local "
    "rules on mains work come first, and whoever is licensed for it. "
)

DQ31 = Model(
    "DQ31",
    "dehumidifier",
    ("DQ-31",),
    3.4,
    18.0,
    0.012,
    {"C1": 0.35, "C2": 0.25, "C5": 0.2, "C6": 0.1, "C9": 0.05, "C11": 0.05},
    (
        Batch("Tarn-9608", date(1996, 2, 1), date(1996, 5, 1), date(1999, 3, 31)),
        Batch("Tarn-9852", date(1998, 12, 1), date(1999, 2, 1), date(2003, 2, 28)),
        Batch("Fell-0244", date(2002, 10, 1), date(2003, 1, 1), date(2007, 9, 30)),
    ),
    45,
    160,
    1.5,
    (900, 3200),
    ("display dark", "fan starts and stops", "clicks, does not start", "trips at switch-on"),
    _CARE + "Tank out, six screws, lift the top; board is behind the fan shroud.",
)

BZ62 = Model(
    "BZ62",
    "bread maker",
    ("BZ-62", "BZ 62"),
    4.0,
    20.0,
    0.015,
    {"C1": 0.4, "C3": 0.3, "C4": 0.15, "C7": 0.1, "C8": 0.05},
    (
        Batch("Fell-0109", date(2001, 2, 1), date(2001, 4, 1), date(2004, 6, 30)),
        Batch("Moss-0418", date(2004, 4, 1), date(2004, 6, 1), date(2007, 5, 31)),
        Batch("Moss-0711", date(2007, 3, 1), date(2007, 5, 1), date(2009, 6, 30)),
        Batch(BAD_BATCH, date(2009, 4, 1), date(2009, 5, 1), date(2011, 10, 31)),
        Batch("Brook-1136", date(2011, 9, 1), date(2011, 10, 1), date(2014, 5, 31)),
    ),
    35,
    140,
    1.0,
    (80, 400),
    ("resets while kneading", "display flickers", "does not heat", "dead"),
    _CARE + "Pan out, four screws below, keep the probe lead clear of the heater.",
)

WQ18 = Model(
    "WQ18",
    "countertop washer",
    ("WQ-18",),
    4.6,
    14.5,
    0.02,
    {"C1": 0.3, "C2": 0.2, "C3": 0.15, "C6": 0.1, "C7": 0.1, "C10": 0.08, "C12": 0.07},
    (
        Batch("Tarn-0340", date(2003, 10, 1), date(2003, 12, 1), date(2007, 2, 28)),
        Batch("Fell-0651", date(2006, 12, 1), date(2007, 2, 1), date(2010, 9, 30)),
        Batch("Brook-1033", date(2010, 8, 1), date(2010, 9, 1), date(2014, 10, 31)),
    ),
    40,
    260,
    2.0,
    (150, 700),
    ("pump hums, drum stands still", "stops mid-wash", "panel dead", "door will not unlock"),
    _CARE + "Drain first. Back panel, then the board tray slides out to the left.",
)

IX07 = Model(
    NO_WEAR_OUT,
    "egg incubator",
    ("IX-07",),
    1.0,
    45.0,
    0.06,
    {"C1": 0.4, "C2": 0.25, "C3": 0.15, "C4": 0.1, "C5": 0.1},
    (
        Batch("Moss-0302", date(2003, 1, 1), date(2003, 2, 1), date(2007, 4, 30)),
        Batch("Brook-0715", date(2007, 4, 1), date(2007, 5, 1), date(2013, 6, 30)),
    ),
    25,
    75,
    0.75,
    (400, 1500),
    ("does not hold heat", "turner stands still", "display dark"),
    _CARE + "Lid off, two screws; the fan connector is fragile.",
)

MODELS = (DQ31, BZ62, WQ18, IX07)

# How many units each source keeps of each model.
QUOTA: dict[str, dict[str, int]] = {
    SHED.name: {"DQ31": 31, "BZ62": 40, "WQ18": 27, "IX07": 15},
    UPPER.name: {"DQ31": 18, "BZ62": 20, "WQ18": 17, "IX07": 12},
    QUAY.name: {"DQ31": 17, "BZ62": 18, "WQ18": 17, "IX07": 8},
}
# Of Upper Ambling's, so many a model came in broken (`enrolled_because` failed).
CAME_IN_BROKEN = 3
# The first of these at Ambling Quay failed before anybody there collected failures.
FAILED_BEFORE = ("DQ31", "WQ18")


@dataclass(frozen=True, slots=True)
class Habits:
    """How people behave: shares, and rates a year. None of it depends on a unit's true life,
    but for `reading`: worn parts are the ones that get replaced because of a reading.
    """

    prompt: float = 0.5  # failures noticed in use; the others at the next roll call
    attends: float = 0.85  # of roll calls
    unknown_cause: float = 0.07
    lost_per_year: float = 0.025  # moved away: nothing more is heard, good or bad
    retired_per_year: float = 0.012  # given up while working
    stored_per_year: float = 0.02
    planned_at_check: float = 0.03  # recapped at a roll call once 12 years old
    reading_at_check: float = 0.05  # measured at a roll call; replaced when worn
    recapped_elsewhere: float = 0.1  # failed before enrolment and mended by somebody else
    batch_known: float = 0.85


HABITS = Habits()
