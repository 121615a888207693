"""What brings the results of a job back: a command and a line of readings a place, with blanks."""

from collections.abc import Sequence

from fleet.flow.bench_facts import Place

BLANK = "____"
READINGS_FILE = "readings.txt"
HINTS = (
    "because: planned, failure or reading",
    "cured: yes or no",
    "positions: all, or a list such as C1;C4",
    "batch: one for all, or place by place such as C1:AB-2612;C4:XY-2540",
)


def log_line(unit: str | None) -> str:
    """`fleet log recapped` with blanks for everything that only the bench knows."""
    name = quoted(unit) if unit is not None else BLANK
    return (
        f"fleet log recapped {name} --on {BLANK} --because {BLANK} --cured {BLANK} --positions "
        f'"{BLANK}" --batch "{BLANK}" --by {BLANK} --readings-from {READINGS_FILE}'
    )


def reading_lines(places: Sequence[Place]) -> tuple[str, ...]:
    """A line for each place as `--readings-from` reads it once the blanks are filled."""
    return tuple(_line(place) for place in places)


def _line(place: Place) -> str:
    volts = f"{BLANK}/{BLANK}V " if place.polar else ""
    both = f"{volts}{BLANK}ohm {BLANK}uF"
    return f"{place.position} before {both} after {both}"


def quoted(text: str) -> str:
    """`text` as one word for any shell: in double quotes where it needs them."""
    plain = all(sign.isalnum() or sign in "-_.,=/:+" for sign in text)
    return text if plain and text else '"' + text.replace('"', '\\"') + '"'
