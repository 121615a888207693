"""What became of the jobs: whether they cured, told for most, and a few that went wrong.

Drawn from a stream of its own, after everything else: no other record depends on it.
"""

from dataclasses import dataclass, field

from demo_data.fates import CUT_DAY
from demo_data.luck import Luck
from demo_data.story import Event, Story
from demo_data.told import Row, iso

_STREAM = 3
_FIXES = ("recapped", "repaired", "board_swapped")
_TOLD = {"recapped": 0.78, "board_swapped": 0.7, "repaired": 0.5}
# Of recaps: how many did not cure at first, and how many worked and failed within some months by
# the job's doing. The washer has connectors that look alike.
WENT_WRONG = {"not_cured": 0.05, "failed_early": 0.04}
WENT_WRONG_OF = {"WQ18": {"not_cured": 0.16, "failed_early": 0.2}}
_AT_FIRST = (
    "one part was in the wrong way round, put right with a new one",
    "two connectors had changed places",
    "sensor lead was not pushed home",
    "a joint had not taken",
)
_SOON = (
    "joint beside the new part had cracked, made again",
    "connector had worked loose, pushed home and tied",
    "track lifted at the new part, bridged with wire",
)
_FETCHED = 12  # days within which the owner fetches it
_LATEST, _MENDED = 150, 7  # days to an early failure, and from there to its repair


@dataclass(frozen=True, slots=True)
class Aftermath:
    """Units with a recap that went wrong, by how."""

    not_cured: list[str] = field(default_factory=list)
    failed_early: list[str] = field(default_factory=list)


def tell_outcomes(
    stories: list[Story], written: list[list[Row]], reports: list[Row], seed: int
) -> Aftermath:
    """Say of most jobs whether they cured, and put in what went wrong.

    `written`: the rows of each story's events, in their order; they stand in `reports` too. New
    events and rows are put behind those of their job.
    """
    wrong = Aftermath()
    for number, (story, rows) in enumerate(zip(stories, written, strict=True)):
        luck = Luck(seed, _STREAM, number)
        # From the last to the first, so that what is put in moves no place still to be looked at.
        for place in reversed(range(len(rows))):
            event = story.events[place]
            if event.kind not in _FIXES or event.day < story.machine.enrolled:
                continue
            told, how = luck.chance(_TOLD[event.kind]), luck.uniform()
            if event.kind == "recapped" and _went_wrong(story, rows, place, how, luck, reports):
                kind = "not_cured" if rows[place].get("cured") == "no" else "failed_early"
                getattr(wrong, kind).append(story.machine.unit)
            elif told:
                rows[place]["cured"] = "yes"
    return wrong


def _went_wrong(
    story: Story, rows: list[Row], place: int, how: float, luck: Luck, reports: list[Row]
) -> bool:
    shares = WENT_WRONG_OF.get(story.machine.model.name, WENT_WRONG)
    event = story.events[place]
    if how < shares["not_cured"]:
        gap = _quiet_until(story, rows, place) - event.day
        if gap < 3:
            return False
        day = event.day + luck.whole(1, min(gap - 1, 10))
        rows[place]["cured"] = "no"
        told = [Event(day, "repaired", notes=luck.pick(_AT_FIRST))]
        _put_in(story, rows, place, told, luck, reports)
        return True
    if how < shares["not_cured"] + shares["failed_early"]:
        after = place + 1
        fetched = after < len(rows) and story.events[after].day - event.day <= _FETCHED
        base = after if fetched and story.events[after].kind == "working" else place
        start, until = story.events[base].day, _quiet_until(story, rows, base)
        if until - start < 3 * _MENDED:
            return False
        failed = start + luck.whole(_MENDED, min(_LATEST, until - start - _MENDED - 1))
        rows[place]["cured"] = "yes"
        trouble = Event(failed, "failed", "other", symptom=luck.pick(story.machine.model.symptoms))
        trouble.in_use = True
        mended = Event(failed + luck.whole(1, _MENDED), "repaired", notes=luck.pick(_SOON))
        _put_in(story, rows, base, [trouble, mended], luck, reports)
        return True
    return False


def _quiet_until(story: Story, rows: list[Row], place: int) -> int:
    """The day before which nothing else is told and the machine surely lives; 0: no such day.

    A failure told roughly might have come earlier, so that only a sight of it working will do.
    """
    events = story.events
    if place + 1 == len(events):
        end = int(story.machine.board.next_failure()[0])
        return min(end, story.stop, CUT_DAY)
    following = events[place + 1]
    plain = following.kind == "working" and len(rows[place + 1]["date"]) == 10
    return following.day if plain else 0


def _put_in(
    story: Story, rows: list[Row], place: int, events: list[Event], luck: Luck, reports: list[Row]
) -> None:
    """Events and their rows behind those at `place`."""
    source = story.machine.source
    at = next(i for i, row in enumerate(reports) if row is rows[place])
    new: list[Row] = []
    for event in events:
        row = {
            "unit": story.machine.unit,
            "date": iso(event.day),
            "kind": event.kind,
            "cause": event.cause,
            "symptom": event.symptom,
            "notes": event.notes,
            "entered_on": iso(min(event.day + luck.whole(0, 5), CUT_DAY)),
            "source": source.name,
            "by": luck.pick(source.people),
        }
        new.append(row if event.kind == "failed" else row | {"cured": "yes"})
    story.events[place + 1 : place + 1] = events
    rows[place + 1 : place + 1] = new
    reports[at + 1 : at + 1] = new
