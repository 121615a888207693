"""A finding on the data as it is read where there is no command line."""

import re
from collections.abc import Mapping
from typing import Any

from fleet.flow.check_finding import NEGLIGIBLE

Row = Mapping[str, Any]

# Effects from which on a change is called so; our own choice.
_MUCH = 0.25
_SOME = 0.05
_REPORT = re.compile(r"\breport r-\w+")  # by its record; on a page a link leads to its machine
# Findings whose subject is a list of machines, not a model, a source or a batch.
_OF_MACHINES = frozenset({"silence", "batches", "told twice", "left out", "build dates"})


def in_a_sentence(row: Row) -> str:
    """What was found, of what, and how many machines it concerns (row of checking.FINDINGS)."""
    said = _REPORT.sub("a report", row["said"])
    many = f"{row['machines']:,} machine{'' if row['machines'] == 1 else 's'}"
    if row["about"] in _OF_MACHINES:
        return f"{_capital(said)}: {many}{', ' if row['machines'] == 1 else ': '}{row['subject']}"
    if row["about"] == "causes":
        return f"{_capital(row['subject'])}: {said} ({many})"
    return f"{row['subject']} ({many}): {said}"


def effect_in_words(row: Row) -> str:
    """How much settling it would do."""
    effect = row["effect"]
    if row["blocks"]:
        return "no answer without it"
    if effect is None:
        return "effect not measured"
    if effect < NEGLIGIBLE:
        return "hardly changes an answer"
    if effect >= 1.0:
        return f"changes an answer very much: {1.0 + effect:.1f}-fold"
    share = f"up to {100.0 * effect:.{0 if effect >= 0.1 else 1}f} %"
    if effect >= _MUCH:
        return f"changes an answer much: {share}"
    return f"changes an answer {'somewhat' if effect >= _SOME else 'a little'}: {share}"


def worth_settling(row: Row) -> bool:
    """Whether settling it would change an answer, or may do so."""
    return bool(row["blocks"]) or row["effect"] is None or row["effect"] >= NEGLIGIBLE


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
