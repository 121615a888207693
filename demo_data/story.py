"""What people see of a machine, day by day: roll calls, failures noticed, recaps, ends.

An Event carries the true day; `told` decides how exactly it is written down.
"""

import math
from dataclasses import dataclass, field
from datetime import date

from demo_data.fates import CUT_DAY, Machine
from demo_data.luck import DAYS_PER_YEAR, Luck
from demo_data.measure import Reading, measure, recap_readings
from demo_data.scenario import HABITS, REFIT_BATCHES

_OTHER_REPAIRS = ("new mains lead", "belt replaced", "switch cleaned", "thermal fuse and fan")
_SMALL_NOTES = ("rubber feet replaced", "lid hinge glued", "manual lost, copy printed")


@dataclass(slots=True)
class Event:
    """Something somebody saw on a day (an ordinal)."""

    day: int
    kind: str
    cause: str = ""
    positions: str = ""
    batch: str = ""
    because: str = ""
    symptom: str = ""
    notes: str = ""
    in_use: bool = False  # a failure noticed at once
    found_dead: bool = False
    last_ok: int | None = None  # for failures: a day on which it was seen working


@dataclass(slots=True)
class Story:
    """One machine under observation. `events` and `readings` grow as it is followed."""

    machine: Machine
    luck: Luck
    refit_factors: dict[str, float]
    events: list[Event] = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)
    visits: list[int] = field(default_factory=list)
    last_ok: int | None = None
    stop: int = CUT_DAY
    runs_once_failed: bool = False

    def tell(self) -> None:
        """Follow the machine from enrolment to the cut or until it is lost from sight."""
        machine, luck = self.machine, self.luck
        self.visits = roll_calls(machine, luck)
        self.stop = min(CUT_DAY, machine.enrolled + self._in(HABITS.lost_per_year))
        if machine.recapped_before is not None:
            notes = "done by an earlier owner, parts unknown"
            self._see(
                machine.recapped_before, "recapped", positions="all", because="failure", notes=notes
            )
        now: int | None
        if machine.trouble is None:
            if luck.chance(0.9):
                self._see(machine.enrolled, "working")
            now = self.last_ok = machine.enrolled
        else:
            day, cause, position = machine.trouble
            found = machine.found_dead
            self._fail(day, cause, position, in_use=not found, found_dead=found)
            now = self._after(machine.enrolled, cause, position)
        if machine.source.keeps_roll_call:
            while now is not None:
                now = self._step(now)
        self.events.sort(key=lambda event: event.day)

    def _in(self, per_year: float) -> int:
        days = self.luck.exponential(per_year)
        return 10**6 if math.isinf(days) else 1 + int(days)

    def _see(self, day: int, kind: str, **facts: str) -> None:
        self.events.append(Event(day, kind, **facts))  # type: ignore[arg-type]

    def _next_visit(self, after: int) -> int:
        return next((day for day in self.visits if day > after), 10**6)

    def _step(self, now: int) -> int | None:
        """The next thing to happen; None when nothing more is heard. Everything drawn here has a
        constant rate, so it may be drawn afresh at every step.
        """
        end, position = self.machine.board.next_failure()
        other = now + self._in(self.machine.model.other_per_year)
        coming = {
            "stop": self.stop,
            "capacitor": max(now + 1, int(end)),
            "other": other,
            "visit": self._next_visit(now),
            "retired": now + self._in(HABITS.retired_per_year),
            "stored": now + self._in(HABITS.stored_per_year),
        }
        what = min(coming, key=lambda key: coming[key])
        day = coming[what]
        if what in ("capacitor", "other"):
            return self._trouble(day, what, position if what == "capacitor" else "")
        if what == "visit":
            return self._visit(day)
        if what == "stored":
            return self._store(day)
        if what == "retired":
            self._see(day, "retired", notes="still worked, no longer wanted")
        return None

    def _trouble(self, day: int, cause: str, position: str) -> int | None:
        if self.luck.chance(HABITS.prompt):
            self._fail(day, cause, position, in_use=True)
            return self._after(day, cause, position)
        seen = self._next_visit(day)
        if seen > self.stop:
            return None
        self._fail(seen, cause, position, found_dead=self.luck.chance(0.35))
        return self._after(seen, cause, position)

    def _fail(
        self, day: int, cause: str, position: str, *, in_use: bool = False, found_dead: bool = False
    ) -> None:
        symptom = self.luck.pick(self.machine.model.symptoms)
        if self.luck.chance(HABITS.unknown_cause):
            cause = "unknown"
        suspected = position if cause == "capacitor" and self.luck.chance(0.85) else ""
        event = Event(day, "failed", cause, suspected, symptom=symptom)
        event.in_use, event.found_dead, event.last_ok = in_use, found_dead, self.last_ok
        self.events.append(event)

    def _after(self, seen: int, cause: str, position: str) -> int | None:
        """What is done about a failure that was seen on `seen`."""
        day = seen + self.luck.whole(2, 60)
        if day > self.stop:
            return None
        if self.events[-1].cause == "unknown":
            self._see(day, "retired", notes="not opened")
            return None
        if cause == "other":
            return self._after_other(day)
        ways = ("whole", "partial", "swap", "runs", "retire")
        way = self.luck.pick(ways, (0.48, 0.18, 0.07, 0.07, 0.2))
        if way == "retire":
            self._see(day, "retired")
            return None
        if way == "runs":
            return self._runs_again(day, position)
        if way == "swap":
            return self._swap_board(day)
        return self._recap(day, "failure", [position] if way == "partial" else [])

    def _after_other(self, day: int) -> int | None:
        # A board that died meanwhile would be noticed at the repair: such a machine is given up.
        if self.machine.board.dead_by(day) or self.luck.chance(0.35):
            self._see(day, "retired")
            return None
        self._see(day, "repaired", notes=self.luck.pick(_OTHER_REPAIRS))
        return self._pick_up(day)

    def _runs_again(self, day: int, position: str) -> int:
        board = self.machine.board
        for dead in {position, *board.dead_by(day)}:
            board.ends[dead] = day + 40 + self.luck.exponential(0.7)
        self.runs_once_failed = True
        self._see(day, "working", notes="ran again after standing unplugged, not opened")
        self.last_ok = day
        return day

    def _swap_board(self, day: int) -> int:
        self.machine.board.fit_all(1.0, day, self.luck)
        self._see(day, "board_swapped", notes="unused spare board, parts not looked at")
        return self._pick_up(day)

    def _recap(self, day: int, because: str, positions: list[str]) -> int:
        """Replace all capacitors, or those of `positions` and any other that is dead."""
        board, luck = self.machine.board, self.luck
        chosen = sorted({*positions, *board.dead_by(day)}) if positions else []
        batch = [b for b, made, _ in REFIT_BATCHES if date.fromisoformat(f"{made}-28") < _day(day)]
        name = batch[-1]
        measured = luck.chance(0.4)
        before = measure(self.machine, day, "before", luck) if measured else []
        if chosen:
            board.fit(dict.fromkeys(chosen, self.refit_factors[name]), day, luck)
        else:
            board.fit_all(self.refit_factors[name], day, luck)
        self.readings += recap_readings(before, chosen, self.machine, luck)
        facts = {"positions": ";".join(chosen) or ("all" if luck.chance(0.7) else "")}
        facts["batch"] = name if luck.chance(0.9) else ""
        self._see(day, "recapped", because=because, **facts)
        return self._pick_up(day)

    def _pick_up(self, day: int) -> int:
        """The owner fetches the machine some days later, mostly seeing it run."""
        self.last_ok = day
        fetched = day + self.luck.whole(1, 12)
        end, _ = self.machine.board.next_failure()
        if fetched > self.stop or end <= fetched or self.luck.chance(0.3):
            return day
        self._see(fetched, "working", notes="tried when fetched")
        self.last_ok = fetched
        return fetched

    def _visit(self, day: int) -> int | None:
        """A roll call at which the machine runs."""
        luck, machine = self.luck, self.machine
        self._see(day, "working", notes=luck.pick(_SMALL_NOTES) if luck.chance(0.02) else "")
        if luck.chance(0.02):
            self._see(day, "note", notes=luck.pick(_SMALL_NOTES))
        self.last_ok = day
        later = day + luck.whole(5, 40)
        still_runs = machine.board.next_failure()[0] > later and later <= self.stop
        old_enough = day - machine.started > 12 * DAYS_PER_YEAR
        if old_enough and luck.chance(HABITS.planned_at_check):
            return self._recap(later, "planned", []) if still_runs else day
        if luck.chance(HABITS.reading_at_check):
            found = measure(machine, day, "check", luck)
            self.readings += found
            if any(r.worn for r in found) and still_runs:
                return self._recap(later, "reading", [])
        return day

    def _store(self, day: int) -> int | None:
        """Put away while working, and tried again after one to four years."""
        self._see(day, "working")
        self._see(day, "stored", notes="put away working")
        self.last_ok = day
        tried = day + self.luck.whole(365, 1500)
        if tried > self.stop:
            return None
        end, position = self.machine.board.next_failure()
        if end <= tried:
            self._fail(tried, "capacitor", position, found_dead=True)
            return self._after(tried, "capacitor", position)
        self._see(tried, "working", notes="taken out and tried")
        self.last_ok = tried
        return tried


def roll_calls(machine: Machine, luck: Luck) -> list[int]:
    """Days of the roll calls that the machine's keeper answers, after its enrolment."""
    source = machine.source
    if not source.keeps_roll_call:
        return []
    first = _day(machine.enrolled).year
    days = [
        date(year, source.month, 6).toordinal() + luck.whole(0, 16)
        for year in range(first, _day(CUT_DAY).year + 1)
        if luck.chance(HABITS.attends)
    ]
    return [day for day in days if machine.enrolled < day < CUT_DAY]


def _day(ordinal: int) -> date:
    return date.fromordinal(ordinal)
