"""What really happens to the machines: builds them, and finds those that come into view.

Days are ordinals (`date.toordinal`); lives are drawn as fractions of days.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from demo_data.luck import DAYS_PER_YEAR, Luck
from demo_data.scenario import (
    BAD_BATCH,
    BAD_FACTOR,
    BATCH_LOG_SD,
    CUT,
    HABITS,
    MODELS,
    SHED,
    Model,
    Source,
)

CUT_DAY = CUT.toordinal()
# Parts fitted by others before a machine was enrolled; nobody wrote down which.
EARLIER_REFIT = 1.2


def draw_batch_factors(luck: Luck) -> dict[str, float]:
    """Life of each factory batch as a multiple of its model's."""
    factors: dict[str, float] = {}
    for model in MODELS:
        for batch in model.batches:
            factor = luck.lognormal(BATCH_LOG_SD)
            factors[batch.name] = BAD_FACTOR if batch.name == BAD_BATCH else round(factor, 3)
    return factors


class Board:
    """The capacitors on one machine's board and the day on which each will fail."""

    def __init__(self, model: Model) -> None:
        self.model = model
        self.ends: dict[str, float] = {}

    def fit(self, parts: Mapping[str, float], day: int, luck: Luck) -> None:
        """Put new parts in on `day`: position to the multiple of the model's life."""
        shape = self.model.shape
        for position, factor in parts.items():
            years = self.model.scale_years * factor
            years *= self.model.weights[position] ** (-1.0 / shape)
            self.ends[position] = day + luck.weibull(shape, years * DAYS_PER_YEAR)

    def fit_all(self, factor: float, day: int, luck: Luck) -> None:
        """A whole new set of one batch."""
        self.fit(dict.fromkeys(self.model.weights, factor), day, luck)

    def next_failure(self) -> tuple[float, str]:
        """When the board fails next, and at which position."""
        return min((end, position) for position, end in self.ends.items())

    def dead_by(self, day: int) -> list[str]:
        """Positions that have failed by `day`."""
        return [position for position, end in self.ends.items() if end <= day]


@dataclass(slots=True)
class Fate:
    """The true life of the set by which a unit came into view, and the window it was seen in.

    Days, as ages of that set. `entry`: it was alive then, or failures before were not collected.
    `known_by`: it is known only because it failed by then; None otherwise. `certain`: found dead
    or failed before anybody collected, so it tells nothing about lives.
    """

    life: float
    scale: float
    entry: float
    known_by: float | None = None
    certain: bool = False


@dataclass(slots=True)
class Machine:
    """One machine as it is: its build day, the batch of each position, its board."""

    model: Model
    source: Source
    built: int
    batches: dict[str, str]
    board: Board
    scale: float  # of the set in place, days
    started: int  # when that set began
    enrolled: int = 0
    came_in_broken: bool = False
    recapped_before: int | None = None
    fate: Fate | None = None
    unit: str = ""
    trouble: tuple[int, str, str] | None = None  # day, cause, position of a unit come in broken
    found_dead: bool = False


def _mixed_scale(model: Model, factors: Iterable[tuple[str, float]]) -> float:
    """Scale in days of a board whose positions come from several batches."""
    shape = model.shape
    total = sum(model.weights[p] * factor**-shape for p, factor in factors)
    scale: float = model.scale_years * DAYS_PER_YEAR * total ** (-1.0 / shape)
    return scale


def build_machine(
    model: Model, source: Source, factors: Mapping[str, float], luck: Luck
) -> Machine:
    """A machine off the line on a random day of its model's years."""
    built = luck.whole(model.first_made.toordinal(), model.last_made.toordinal())
    fitting = [b for b in model.batches if b.first.toordinal() <= built <= b.last.toordinal()]
    batch = luck.pick(fitting).name
    batches = dict.fromkeys(model.weights, batch)
    earlier = [b.name for b in model.batches if b.made.toordinal() < built and b.name != batch]
    if earlier and luck.chance(0.04):
        batches[luck.pick(list(batches))] = earlier[-1]
    board = Board(model)
    parts = {position: factors[name] for position, name in batches.items()}
    board.fit(parts, built, luck)
    return Machine(model, source, built, batches, board, _mixed_scale(model, parts.items()), built)


def _live_until(machine: Machine, day: int, luck: Luck) -> bool:
    """Whether the machine works on `day`; most that fail earlier are thrown away unseen."""
    end, _ = machine.board.next_failure()
    while end < day:
        mended = int(end) + luck.whole(20, 150)
        if mended >= day - 30 or not luck.chance(HABITS.recapped_elsewhere):
            return False
        machine.board.fit_all(EARLIER_REFIT, mended, luck)
        machine.recapped_before = machine.started = mended
        machine.scale = machine.model.scale_years * EARLIER_REFIT * DAYS_PER_YEAR
        end, _ = machine.board.next_failure()
    return True


def draw_working(model: Model, source: Source, factors: Mapping[str, float], luck: Luck) -> Machine:
    """A machine that works on the day somebody enrols it: only survivors come into view."""
    since = source.collecting_since.toordinal()
    years = 9.0 if source == SHED else 7.0
    while True:
        machine = build_machine(model, source, factors, luck)
        enrolled = since + int(years * DAYS_PER_YEAR * luck.uniform() ** 1.7)
        if enrolled < machine.built + 150 or not _live_until(machine, enrolled, luck):
            continue
        machine.enrolled = enrolled
        end, _ = machine.board.next_failure()
        start = machine.started
        machine.fate = Fate(end - start, machine.scale, float(enrolled - start))
        return machine


def draw_failed(model: Model, source: Source, factors: Mapping[str, float], luck: Luck) -> Machine:
    """A machine nobody would know had it not failed while failures were collected."""
    since = source.collecting_since.toordinal()
    while True:
        machine = build_machine(model, source, factors, luck)
        if luck.chance(0.12):
            if _tried_after_years(machine, since, luck):
                return machine
            continue
        end, position = machine.board.next_failure()
        other = max(machine.built, since) + luck.exponential(model.other_per_year)
        day = int(min(end, other))
        if not since <= day < CUT_DAY:
            continue
        _bring(machine, day, luck)
        built = machine.built
        if end <= other:
            machine.trouble = (day, "capacitor", position)
            entry = float(max(0, since - built))
            machine.fate = Fate(end - built, machine.scale, entry, float(CUT_DAY - built))
        else:
            machine.trouble = (day, "other", "")
            machine.fate = Fate(end - built, machine.scale, other - built)
        return machine


def draw_failed_before(
    model: Model, source: Source, factors: Mapping[str, float], luck: Luck
) -> Machine:
    """A machine that failed before its source collected failures, and was brought all the same."""
    since = source.collecting_since.toordinal()
    while True:
        machine = build_machine(model, source, factors, luck)
        end, position = machine.board.next_failure()
        if not since - 900 < end < since - 70:
            continue
        machine.came_in_broken = True
        machine.enrolled = since + luck.whole(10, 200)
        machine.trouble = (int(end), "capacitor", position)
        machine.fate = Fate(end - machine.built, machine.scale, 0.0, certain=True)
        return machine


def _bring(machine: Machine, day: int, luck: Luck) -> None:
    """Owners bring a dead machine some weeks later, a few after most of a year."""
    lag = luck.whole(120, 300) if luck.chance(0.3) else luck.whole(2, 45)
    machine.came_in_broken = True
    machine.enrolled = min(day + lag, CUT_DAY)


def _tried_after_years(machine: Machine, since: int, luck: Luck) -> bool:
    """Whether a machine tried after years in a cupboard turns out dead, and so comes in."""
    tried = luck.whole(since, CUT_DAY - 1)
    end, position = machine.board.next_failure()
    if tried < machine.built + 700 or end > tried:
        return False
    machine.came_in_broken = machine.found_dead = True
    machine.enrolled = tried
    machine.trouble = (tried, "capacitor", position)
    machine.fate = Fate(end - machine.built, machine.scale, 0.0, certain=True)
    return True
