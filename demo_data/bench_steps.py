"""Steps for the bench of the demo: written by hand in steps.csv, the only file not drawn here."""

import csv
from pathlib import Path

Row = dict[str, str]

_FILE = Path(__file__).with_name("steps.csv")


def step_rows() -> list[Row]:
    """What to know at the bench, model by model."""
    with _FILE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))
