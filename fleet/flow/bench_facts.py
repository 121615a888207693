"""What a bench sheet is made of, as plain values; `fleet.sheets` turns them into a page."""

from dataclasses import dataclass
from datetime import date

from fleet.capacitors.discharge import Discharge


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """A label and what is known, in words."""

    label: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One report on the unit."""

    date: str
    what: str
    details: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """A step somebody kept; `cause` only of a symptom, `of_unit` kept for this unit alone."""

    record: str
    text: str
    cause: str | None
    position: str | None
    of_unit: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A reading taken earlier at a place; `remark` says what is odd or that it is beyond limits."""

    date: str
    stage: str
    volts_positive: float | None
    volts_negative: float | None
    esr_ohm: float | None
    capacitance: str | None
    remark: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """What is in a place now: batch as printed, since when, and what its date code can mean.

    `replaced`: not the factory's part, so that it need not be of the form the design asks for.
    """

    batch: str | None
    since: str
    replaced: bool
    made: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class GoesIn:
    """The part that goes in; `part` null: none can be named, `says` and `measure_first` say why.

    `marks`: how the new part shows its ends; null: no part yet, or it has no polarity.
    """

    part: str | None
    facts: str  # all that is recorded
    in_short: str
    verdict: str
    measure_first: tuple[str, ...]
    says: tuple[str, ...]
    marks: str | None = None
    esr_ohm: float | None = None  # of the part, fresh


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place for a capacitor, with everything the bench needs to know of it."""

    position: str
    role: str | None
    asked: str  # what the design asks of the part
    notes: tuple[str, ...]
    there: There | None  # null on the sheet of a model
    goes_in: GoesIn | None  # null: nothing was looked up
    polar: bool
    ends: tuple[str, ...]  # what the board says of them
    old_marks: tuple[str, ...]  # how what is there shows its ends
    read_off_board: bool  # the records do not settle which end is which
    harmful: bool  # may carry more than ordinary people may touch
    sizes_first: tuple[str, ...]  # what to measure before ordering
    sizes: tuple[str, ...]  # to be read off the part, as nobody recorded them
    esr_limit: float | None  # of the old part
    esr_after: float | None  # of the new one
    readings: tuple[Measured, ...]
    elsewhere: str | None  # what others of the model read there, after a recap or at a check
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Needed:
    """A part to have on the bench: how many, for which places, and how many the shelf holds.

    `shelf_says`: what to do first with those of the shelf that are not fresh.
    """

    part: str
    facts: str
    quantity: int
    positions: tuple[str, ...]
    on_shelf: int
    shelf_says: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WorstCharge:
    """The highest voltage and the highest capacitance of a board, and how to empty both at once."""

    at_volts: str  # the place with the highest voltage
    at_farads: str  # the place with the highest capacitance
    discharge: Discharge
    assumed: tuple[str, ...]  # what was taken for places of which it is not sure
    untimed: tuple[str, ...]  # places whose capacitance is not known


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSheet:
    """Everything on a bench sheet. `unit` null: a sheet for any unit of the model."""

    unit: str | None
    model: str
    as_of: date
    facts: tuple[Fact, ...]
    model_notes: str | None
    why_due: str | None
    history: tuple[Event, ...]
    worst: WorstCharge | None
    places: tuple[Place, ...]
    parts: tuple[Needed, ...]
    steps: dict[str, tuple[Step, ...]]  # by moment, those of places left out
    hold_at: tuple[str, ...]  # places to prove discharged before the board is touched
    log_line: str  # the command that brings the results back, with blanks
    reading_lines: tuple[str, ...]  # what is measured, place by place, with blanks
    invented: bool  # records of the demo
    notes: tuple[str, ...]
