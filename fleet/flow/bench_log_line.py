"""The command that brings the results of a job back, ready to be filled in."""

from collections.abc import Sequence

import polars as pl

_STAGES = ("before", "after")
_MEASURED = ("volts_positive", "volts_negative", "esr_ohm", "capacitance")


def log_lines(unit: str | None, positions: Sequence[str], reports: pl.DataFrame) -> tuple[str, ...]:
    """`fleet log recapped` piece by piece, to be typed as one line; empty values stand for blanks.

    `--because` is failure where the last thing reported of the unit is that it failed.
    """
    name = quoted(unit) if unit is not None else "UNIT"
    readings = [
        f"--reading {quoted(f'{position},stage={stage},' + ','.join(f'{m}=' for m in _MEASURED))}"
        for position in positions
        for stage in _STAGES
    ]
    return (
        f"fleet log recapped {name} --on YYYY-MM-DD --because {_because(reports)} --cured yes",
        "--positions all --batch BATCH --by NAME",
        *readings,
    )


def quoted(text: str) -> str:
    """`text` as one word for any shell: in double quotes where it needs them."""
    plain = all(sign.isalnum() or sign in "-_.,=/:+" for sign in text)
    return text if plain and text else '"' + text.replace('"', '\\"') + '"'


def _because(reports: pl.DataFrame) -> str:
    told = reports.filter(pl.col("kind").is_in(["working", "failed", "repaired", "recapped"])).sort(
        "date_latest", "record"
    )
    return "failure" if told.height and told["kind"][-1] == "failed" else "planned"
