"""The words of the pages: what a person reads for each value the records hold."""

import re
from collections.abc import Mapping, Sequence
from datetime import date

KINDS: Mapping[str, str] = {
    "failed": "It failed",
    "working": "It works",
    "recapped": "Capacitors were replaced",
    "repaired": "It was repaired without new capacitors",
    "board_swapped": "The board was swapped",
    "stored": "It was put into storage",
    "retired": "It was retired or scrapped",
    "note": "Only a note",
}

# The same in a list, before the day.
SEEN: Mapping[str, str] = {
    "failed": "failed",
    "working": "seen working",
    "recapped": "capacitors replaced",
    "repaired": "repaired",
    "board_swapped": "board swapped",
    "stored": "put into storage",
    "retired": "retired",
    "note": "note",
}

CAUSES: Mapping[str, str] = {
    "": "not known",
    "capacitor": "a capacitor",
    "other": "something else",
}

BECAUSE: Mapping[str, str] = {
    "": "not said",
    "planned": "planned, it still worked",
    "failure": "it had failed",
    "reading": "a reading was poor, it still worked",
}

CURED: Mapping[str, str] = {
    "": "not said",
    "yes": "yes, it works",
    "no": "no, it does not work",
}

# Fields asked for with each kind of report, besides the date, notes and who reports.
FIELDS: Mapping[str, Sequence[str]] = {
    "failed": ("last_known_working", "cause", "positions", "symptom", "found_dead"),
    "working": (),
    "recapped": ("because", "positions", "batch", "symptom", "cured"),
    "repaired": ("cause", "positions", "symptom", "cured"),
    "board_swapped": ("because", "batch", "cured"),
    "stored": (),
    "retired": ("last_known_working",),
    "note": (),
}

OPENS_THE_MACHINE = frozenset({"recapped", "repaired", "board_swapped"})

CAUTION = (
    "**Before anyone opens the machine.** Unplug it: a switch is not enough. Capacitors stay "
    "charged without the plug, some at the height of the mains or above. Wait, measure, discharge "
    "through a resistor made for it (never with a screwdriver), and measure again. Fit parts of "
    "the same safety class. Where your country's rules ask for a licensed person or a safety test "
    "afterwards, that comes first; if in doubt, hand it to somebody qualified."
)
CAUTION_SHORT = (
    "Unplug it: a switch is not enough. Wait, measure, discharge through a resistor made for it "
    "(never with a screwdriver), and measure again. If in doubt, hand it to somebody qualified."
)

PARTS: Mapping[str, str] = {
    "original": "original parts",
    "replaced": "replaced parts",
    "all": "original and replaced together",
}

UNKNOWN_CAUSE: Mapping[str, str] = {
    "share": "shared out as the known causes are",
    "capacitor": "all counted as capacitor failures",
    "other": "none counted as capacitor failures",
}

DEGRADED_AS: Mapping[str, str] = {
    "censored": "had not failed",
    "failed": "counted as failed then",
}

ACTIONS_ADVICE: Mapping[str, str] = {
    "recap_now": "past the age at which replacing is cheapest",
    "recap_when_due": "replace when the date comes",
    "measure": "measure before deciding",
    "check_in": "nobody has said for long whether it still works",
    "leave": "replacing early does not pay",
}

# Columns that may explain how long lives last, as a person names them.
FACTS: Mapping[str, str] = {
    "ambient_c": "room temperature",
    "hours_per_year": "powered hours a year",
    "batch": "batch",
    "site": "site",
}

# Names that answers take from tables and commands, as a person reads them on a page.
_PLAIN: Mapping[str, str] = {
    "ambient_c": FACTS["ambient_c"],
    "hours_per_year": FACTS["hours_per_year"],
    "p_permuted": "the chance by dealing out anew",
    "p_value": "the plain chance",
    "; ask for one with --model": "; choose one curve for each model",
    "; ask for them by parts to see them": "; choose other parts above to see them",
    "like --by batch": "like batch",
}


# Signs of Markdown; a colon begins a symbol or a colour only before a letter.
_MARKDOWN = re.compile(r"[\\`*_\[\]#|<>~$&]|:(?=[^\s])")
# What begins a list or a line across the page, where a text begins with it.
_BLOCK = re.compile(r"\A(\s*)(?:([-+=])|(\d{1,9})([.)])(?=\s|\Z))")
# What Streamlit makes a symbol or a link of after Markdown was read, so that no sign helps:
# pictures by name, addresses of pages and of people. An unseen sign, which is not read aloud,
# parts the two halves.
_LATE = re.compile(
    r"(?<=:)(?=[\w+-]+[:/])|(?<=:)(?=//)|(?<=www)(?=\.)|(?<=[-.\w+])(?=@[-\w])", re.I
)
_UNSEEN = "\u200c"
_BREAKS = re.compile(r"[\r\n\v\f\x85\u2028\u2029]+")


def plain(text: str) -> str:
    """A sentence of an answer without names of columns and options."""
    for name, said in _PLAIN.items():
        text = text.replace(name, said)
    return text


def escaped(text: str) -> str:
    """Text from a record or a file, shown as it is: its signs mean nothing to Markdown."""
    parted = _LATE.sub(_UNSEEN, _BREAKS.sub(" ", text))
    signs = _MARKDOWN.sub(r"\\\g<0>", parted)
    return _BLOCK.sub(lambda m: f"{m[1]}\\{m[2]}" if m[2] else f"{m[1]}{m[3]}\\{m[4]}", signs)


def day(value: date) -> str:
    """A day as people write it: 14 July 2024."""
    return f"{value.day} {value:%B %Y}"


def day_range(earliest: date | None, latest: date | None) -> str:
    """The days a date can mean, shortened where year or month are shared.

    An open end is None: "any day up to 31 December 2003".
    """
    if earliest is None and latest is None:
        return "any day at all"
    if earliest is None:
        return f"any day up to {day(latest)}"  # type: ignore[arg-type]
    if latest is None:
        return f"any day from {day(earliest)} on"
    if earliest == latest:
        return day(earliest)
    if (earliest.year, earliest.month) == (latest.year, latest.month):
        return f"{earliest.day} to {day(latest)}"
    if earliest.year == latest.year:
        return f"{earliest.day} {earliest:%B} to {day(latest)}"
    return f"{day(earliest)} to {day(latest)}"


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun: 1 unit, 3 units, 12,000 units."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"
