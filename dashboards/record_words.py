"""Records as a person reads them: names of their columns, and what each column says."""

from collections.abc import Mapping

import words

OF_A_MACHINE: Mapping[str, str] = {
    "model": "Model",
    "serial": "Serial number",
    "manufactured": "Built",
    "batch": "Factory batch",
    "enrolled_on": "In these records since",
    "enrolled_because": "Because",
    "site": "Site",
    "source": "Source",
    "hours_per_year": "Hours in use a year",
    "ambient_c": "Room (°C)",
    "notes": "Notes",
}
OF_A_REPORT: Mapping[str, str] = {
    "kind": "What happened",
    "date": "Date",
    "last_known_working": "Last known working",
    "cause": "Cause",
    "because": "Why",
    "positions": "Positions (joined by ;)",
    "batch": "Batch of the parts fitted",
    "symptom": "Symptom",
    "found_dead": "Found dead",
    "cured": "It worked afterwards",
    "notes": "Notes",
}
LABELS: Mapping[str, str] = {**OF_A_MACHINE, **OF_A_REPORT}
CHOICES: Mapping[str, Mapping[str, str]] = {
    "cause": {**words.CAUSES, "unknown": "not known"},
    "because": words.BECAUSE,
    "kind": words.KINDS,
    "found_dead": {"": "not said", "yes": "yes", "no": "no"},
    "cured": {"": "not said", "yes": "yes", "no": "no"},
    "enrolled_because": {"": "not said", "working": "it worked", "failed": "it had failed"},
}


def label(name: str) -> str:
    """The name of a column, without what is only said where it is typed."""
    return LABELS.get(name, name.replace("_", " ").capitalize()).split(" (")[0]


def said(name: str, text: str) -> str:
    """What a column says; blank where it says nothing."""
    return CHOICES[name].get(text, text) if text and name in CHOICES else text
