"""How what was seen gets written down: rough dates, blanks, other spellings, late entries.

The text of a date always covers the true day.
"""

from datetime import date, timedelta

from demo_data.fates import Machine
from demo_data.luck import DAYS_PER_YEAR, Luck
from demo_data.measure import LIMIT
from demo_data.scenario import CUT, HABITS
from demo_data.story import Event, Story

Row = dict[str, str]

_SEASONS = {3: 21, 4: 21, 5: 21, 6: 22, 7: 22, 8: 22, 9: 23, 10: 23, 11: 23, 12: 24, 1: 24, 2: 24}


def iso(day: int) -> str:
    """An ordinal day as ISO 8601."""
    return date.fromordinal(day).isoformat()


def month_span(day: int) -> tuple[str, int, int]:
    """The month of a day: text, first and last day."""
    when = date.fromordinal(day)
    last = (when.replace(day=28) + timedelta(days=4)).replace(day=1) - timedelta(days=1)
    return f"{when:%Y-%m}", when.replace(day=1).toordinal(), last.toordinal()


def season_span(day: int) -> tuple[str, int, int]:
    """The season of a day, winter by the year in which it begins: text, first and last day."""
    when = date.fromordinal(day)
    season = _SEASONS[when.month]
    year = when.year - 1 if when.month < 3 else when.year
    month = 3 * (season - 20)
    first = date(year, month, 1)
    after = date(year + month // 12, month % 12 + 3, 1) if month == 12 else date(year, month + 3, 1)
    return f"{year}-{season}", first.toordinal(), after.toordinal() - 1


def year_span(day: int) -> tuple[str, int, int]:
    """The year of a day: text, first and last day."""
    year = date.fromordinal(day).year
    return str(year), date(year, 1, 1).toordinal(), date(year, 12, 31).toordinal()


_SPANS = {"month": month_span, "season": season_span, "year": year_span}


def build_date(built: int, luck: Luck) -> str:
    """The build date as people know it: to the year mostly, or rougher, or not at all."""
    year = date.fromordinal(built).year
    off = luck.whole(-1, 1)
    texts = {
        str(year): 0.56,
        month_span(built)[0]: 0.11,
        iso(built): 0.08,
        f"{year + off}~": 0.05,
        f"{year + off}?": 0.02,
        f"{year // 10}X": 0.06,
        f"{year - luck.whole(0, 2)}/{year + luck.whole(0, 1)}": 0.03,
        f"../{year + luck.whole(0, 2)}": 0.02,
        "": 0.07,
    }
    return luck.pick(list(texts), list(texts.values()))


def unit_row(machine: Machine, luck: Luck) -> Row:
    """The unit as it was enrolled. Whether the batch is known has nothing to do with its fate."""
    model = machine.model
    alias = luck.pick(model.aliases) if model.name == "BZ62" and luck.chance(0.25) else model.name
    names = sorted(set(machine.batches.values()))
    batch = names[0]
    if len(names) > 1:
        batch = ";".join(f"{position}:{name}" for position, name in machine.batches.items())
    low, high = model.hours_per_year
    hours = str(10 * (luck.whole(low, high) // 10)) if luck.chance(0.5) else ""
    ambient = str(luck.whole(12, 27)) if luck.chance(0.45) else ""
    serial = f"{model.name[0]}{luck.whole(1000, 9999)}-{luck.whole(10, 99)}"
    return {
        "unit": machine.unit,
        "model": alias,
        "batch": batch if luck.chance(HABITS.batch_known) else "",
        "serial": serial if luck.chance(0.7) else "",
        "manufactured": build_date(machine.built, luck),
        "enrolled_on": iso(machine.enrolled),
        "enrolled_because": "failed" if machine.came_in_broken else "working",
        "site": luck.pick(machine.source.sites),
        "hours_per_year": hours,
        "ambient_c": ambient,
        "entered_on": iso(machine.enrolled) if luck.chance(0.85) else "",
        "source": machine.source.name,
        "by": luck.pick(machine.source.people),
    }


def report_rows(story: Story, luck: Luck) -> list[Row]:
    """The reports of one machine in the order of their days."""
    events = story.events
    return [_report(story, index, luck) for index in range(len(events))]


def _report(story: Story, index: int, luck: Luck) -> Row:
    event, machine = story.events[index], story.machine
    row = {
        "unit": machine.unit,
        "date": iso(event.day),
        "kind": event.kind,
        "cause": "" if event.cause == "unknown" and luck.chance(0.5) else event.cause,
        "positions": event.positions,
        "batch": event.batch,
        "because": event.because,
        "symptom": event.symptom,
        "found_dead": "yes" if event.found_dead else "",
        "notes": event.notes,
        "entered_on": _entered(event, machine, luck),
        "source": machine.source.name,
        "by": luck.pick(machine.source.people),
    }
    if event.kind == "failed" and event.in_use:
        row |= _rough_failure(story, index, luck)
    elif event.kind == "failed":
        row["last_known_working"] = _last_working(event, machine, luck)
    elif event.kind == "working":
        row |= _rough_working(story.events, index, luck)
    elif event.day < machine.enrolled and year_span(event.day)[2] < machine.enrolled:
        row["date"] = year_span(event.day)[0]
    return row


def _entered(event: Event, machine: Machine, luck: Luck) -> str:
    """Mostly within two weeks; blank now and then."""
    if event.day < machine.enrolled:
        return iso(machine.enrolled)
    day = min(event.day + luck.whole(0, 12), CUT.toordinal())
    return "" if luck.chance(0.08) else iso(day)


def _last_working(event: Event, machine: Machine, luck: Luck) -> str:
    """Of a failure found at a check. Found dead says the same when it is left blank."""
    if event.last_ok is not None:
        return "" if event.found_dead and luck.chance(0.5) else iso(event.last_ok)
    if machine.fate is None or luck.chance(0.6):
        return ""
    died = machine.built + int(machine.fate.life)
    year = date.fromordinal(died).year - luck.whole(1, 3)
    return str(year) if year > date.fromordinal(machine.built).year else ""


def _rough_failure(story: Story, index: int, luck: Luck) -> Row:
    """A failure in use: to the day, or to the month, season or year where nothing gainsays it.

    Whoever enters it bounds it: nobody reports the future.
    """
    event, machine = story.events[index], story.machine
    following = story.events[index + 1].day if index + 1 < len(story.events) else CUT.toordinal()
    first_failure = machine.came_in_broken and index == 0
    entered = machine.enrolled
    if not first_failure:
        entered = min(event.day + luck.whole(0, 90), following - 1)
    floor = machine.built + 1
    if first_failure and event.day >= machine.source.collecting_since.toordinal():
        floor = machine.source.collecting_since.toordinal()
    for earlier in story.events[:index]:
        if earlier.kind != "working":
            floor = max(floor, earlier.day + 1)
    how = luck.pick(("day", "month", "season", "year"), (0.42, 0.22, 0.1, 0.26))
    if how == "day" or entered < event.day:
        return {"entered_on": iso(max(entered, event.day))}
    text, first, _ = _SPANS[how](event.day)
    if first < floor:
        return {"entered_on": iso(entered)}
    row = {"date": text, "entered_on": iso(entered)}
    if event.last_ok is not None and event.last_ok >= first:
        row["last_known_working"] = iso(event.last_ok)
    return row


def _rough_working(events: list[Event], index: int, luck: Luck) -> Row:
    """Now and then only the month of a roll call is written, where nothing else fell into it."""
    event = events[index]
    text, first, last = month_span(event.day)
    others = events[:index] + events[index + 1 :]
    entered = last + luck.whole(1, 9)
    crowded = any(first <= other.day <= entered for other in others)
    if crowded or entered > CUT.toordinal() or not luck.chance(0.05):
        return {}
    return {"date": text, "entered_on": iso(entered)}


def reading_rows(story: Story) -> list[Row]:
    """What was measured on one machine."""
    rows: list[Row] = []
    for reading in story.readings:
        rows.append(
            {
                "unit": story.machine.unit,
                "date": iso(reading.day),
                "position": reading.position,
                "stage": reading.stage,
                "esr_ohm": reading.esr,
                "capacitance": reading.capacitance,
                "limit_used": LIMIT,
                "in_circuit": "yes" if reading.in_circuit else "no",
                "instrument": reading.instrument,
                "entered_on": iso(reading.day),
                "source": story.machine.source.name,
                "by": story.machine.source.people[0],
            }
        )
    return rows


def hour_rows(story: Story, unit: Row, luck: Luck) -> list[Row]:
    """Hour meters read at a roll call, of some machines whose use is known."""
    events = [e for e in story.events if e.kind == "working" and e.day > story.machine.enrolled]
    if not unit["hours_per_year"] or not events or not luck.chance(0.3):
        return []
    source = story.machine.source
    rows: list[Row] = []
    for event in {events[0].day: events[0], events[-1].day: events[-1]}.values():
        years = (event.day - story.machine.built) / DAYS_PER_YEAR
        hours = round(years * float(unit["hours_per_year"]))
        told = {"unit": unit["unit"], "date": iso(event.day), "position": "hours"}
        rows.append(
            told
            | {"stage": "check", "capacitance": str(hours), "instrument": "hour meter"}
            | {"entered_on": iso(event.day), "source": source.name, "by": source.people[0]}
        )
    return rows
