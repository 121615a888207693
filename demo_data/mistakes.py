"""Mistakes put into the records on purpose: two that were corrected, and one that was not."""

from dataclasses import dataclass
from itertools import pairwise

from demo_data.story import Story
from demo_data.told import Row, iso

Rows = dict[str, list[Row]]


@dataclass(frozen=True, slots=True)
class Mistakes:
    """Which records are wrong: a unit with two that disagree, and the ids of those corrected."""

    contradictory_unit: str
    corrected_report: str
    corrected_unit: str


def make_mistakes(stories: list[Story], rows: Rows) -> Mistakes:
    """Put them in; the first units that suit are taken."""
    return Mistakes(
        _retire_a_working_unit(stories, rows),
        _correct_a_cause(stories, rows),
        _correct_a_batch(stories, rows),
    )


def _retire_a_working_unit(stories: list[Story], rows: Rows) -> str:
    """A retirement noted against the wrong machine: it goes on being reported working."""
    for story in stories:
        events = story.events
        if len(events) < 5 or any(event.kind != "working" for event in events):
            continue
        before, after = next(
            (pair for pair in pairwise(events[1:]) if pair[1].day - pair[0].day > 300),
            (None, None),
        )
        if before is None or after is None:
            continue
        day = before.day + 120
        unit = story.machine.unit
        row = {
            "unit": unit,
            "date": iso(day),
            "kind": "retired",
            "notes": "given to the tip",
            "entered_on": iso(day + 3),
            "source": story.machine.source.name,
            "by": story.machine.source.people[-1],
        }
        place = next(
            i
            for i, r in enumerate(rows["reports"])
            if r["unit"] == unit and r["date"][:7] == iso(after.day)[:7]
        )
        rows["reports"].insert(place, row)
        return unit
    raise RuntimeError("no unit suits the contradiction; choose another seed")


def _correct_a_cause(stories: list[Story], rows: Rows) -> str:
    """A failure first put down to something else, until the board was opened for its recap."""
    for story in reversed(stories):
        unit = story.machine.unit
        mine = [row for row in rows["reports"] if row["unit"] == unit]
        for failed, recapped in pairwise(mine):
            plain = failed["kind"] == "failed" and len(failed["date"]) == 10
            if not (plain and failed["entered_on"] and failed["cause"] == "capacitor"):
                continue
            opened = recapped["kind"] == "recapped" and recapped["entered_on"]
            if not opened or recapped["entered_on"] <= failed["entered_on"]:
                continue
            first = f"report-{unit}-first"
            right = failed | {
                "record": f"report-{unit}-corrected",
                "supersedes": first,
                "entered_on": recapped["entered_on"],
                "notes": "it was the capacitor after all",
            }
            failed |= {"record": first, "cause": "other", "positions": "", "notes": "switch?"}
            rows["reports"].insert(rows["reports"].index(recapped), right)
            return first
    raise RuntimeError("no report suits the correction; choose another seed")


def _correct_a_batch(stories: list[Story], rows: Rows) -> str:
    """A unit enrolled with its batch unknown, read off the cans at a later opening."""
    by_unit = {row["unit"]: row for row in rows["units"]}
    for story in stories:
        unit = story.machine.unit
        opened = next((e for e in story.events if e.kind == "recapped" and e.batch), None)
        row = by_unit[unit]
        one = len(set(story.machine.batches.values())) == 1
        early = opened is None or opened.day < story.machine.enrolled
        if early or opened is None or row["batch"] or not row["entered_on"] or not one:
            continue
        if story.machine.recapped_before is not None:
            continue
        first = f"unit-{unit}-first"
        right = row | {
            "record": f"unit-{unit}-opened",
            "supersedes": first,
            "batch": next(iter(story.machine.batches.values())),
            "entered_on": iso(opened.day),
        }
        row["record"] = first
        rows["units"].insert(rows["units"].index(row) + 1, right)
        return first
    raise RuntimeError("no unit suits the correction; choose another seed")
