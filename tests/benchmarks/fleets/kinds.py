"""What may vary from fleet to fleet: classes of fleets and their ranges.

`old` and `young` are the two classes the numbers to reach are stated for; the others change one
thing of `old` each, so that what an estimator cannot do shows by name. Ranges are uniform.
Times are years here, days everywhere else.
"""

from dataclasses import dataclass, replace
from typing import Literal

Range = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """Ranges and options of a class of fleets; each fleet draws its own values from them."""

    # Lives of the capacitors.
    form: Literal["weibull", "failure_free", "bad_share", "lognormal"] = "weibull"
    shape: Range = (2.0, 6.0)
    scale: Range = (10.0, 25.0)  # years
    batch_sd: Range = (0.0, 0.4)  # of the log scales
    heavy_tails: bool = False  # batch scales by Student's t with 3 degrees of freedom
    batches: tuple[int, int] = (1, 6)
    heat: Literal["blank", "idle", "matters"] = "blank"  # idle: recorded, without effect
    second_lives: bool = False  # sets are renewed, before and after enrolment, some partly
    # The machines and who tells of them.
    built: tuple[int, int] = (1990, 2012)  # first and last year
    log_since: int = 2014
    join: Range = (0.005, 0.05)  # a year, of machines that work
    failure_only: Range = (0.002, 0.03)  # chance that a failure of an unknown machine is told
    forgetting: bool = False  # old failures told less often, collecting_since blank
    gap: Range = (0.4, 1.5)  # mean years between check-ins
    drop_out: float = 0.04  # a year
    prompt: float = 0.5  # failures noticed when they happen; others at the next check-in
    other: Range = (0.003, 0.02)  # failures of other causes a year
    planned: Range = (0.0, 0.0)  # recaps in advance a year, of machines watched
    readings: float = 0.0  # check-ins at which one position is measured
    # How it is written down.
    unknown_cause: float = 0.05
    failure_to_year: float = 0.25
    build_to_year: float = 0.7
    twice: float = 0.0  # failures told a second time, some days off
    wrong_batch: float = 0.0
    enrol_to_year: float = 0.0  # days of enrolment told to the year only
    contradicts: float = 0.0  # machines whose records disagree
    cost: Range = (3.0, 10.0)  # of a failure, in planned recaps


OLD = Kind()
YOUNG = replace(OLD, built=(2004, 2017), cost=(1.5, 4.0))

KINDS: dict[str, Kind] = {
    "old": OLD,
    "young": YOUNG,
    "no_wear_out": replace(OLD, shape=(0.7, 1.0)),
    "weak_wear_out": replace(OLD, shape=(1.2, 1.6)),
    "failure_free": replace(OLD, form="failure_free", shape=(1.2, 3.0)),
    "bad_share": replace(OLD, form="bad_share"),
    "lognormal": replace(OLD, form="lognormal"),
    "heat": replace(OLD, heat="matters"),
    "heat_idle": replace(OLD, heat="idle"),
    "second_lives": replace(OLD, second_lives=True),
    "heavy_tails": replace(OLD, heavy_tails=True),
    "forgetting": replace(OLD, forgetting=True),
    "twice": replace(OLD, twice=0.3),
    "wrong_batch": replace(OLD, wrong_batch=0.1),
    "planned": replace(OLD, planned=(0.02, 0.1)),
    "readings": replace(OLD, readings=0.5),
    "vague_enrolment": replace(OLD, enrol_to_year=0.4),
    "contradictory": replace(OLD, contradicts=0.1),
    "wide": replace(
        OLD,
        shape=(1.5, 8.0),
        scale=(6.0, 40.0),
        batch_sd=(0.0, 0.8),
        batches=(1, 12),
        gap=(0.2, 3.0),
        drop_out=0.1,
        prompt=0.3,
        unknown_cause=0.3,
        cost=(1.5, 20.0),
    ),
    "everything": replace(
        OLD, heat="matters", second_lives=True, heavy_tails=True, forgetting=True, twice=0.2
    ),
}
