"""The words of the page of one machine."""

from collections.abc import Mapping

import words

WHAT: Mapping[str, str] = {
    "built": "built",
    "enrolled": "came into these records",
    "details": "its details",
    "readings": "measured",
    **words.SEEN,
    "repaired": "repaired, same capacitors",
}
STANDING: Mapping[str, str] = {
    "counts": "",
    "contradicts": "contradicts another",
    "told twice": "perhaps told twice",
    "corrected": "corrected since, counts no more",
    "taken back": "taken back, counts no more",
}
STAGES: Mapping[str, str] = {"before": "before the work", "after": "after it", "check": "a check"}
VERDICTS: Mapping[str, str] = {"bad": "beyond its limit", "good": "within its limit"}
ENDED: Mapping[str, str] = {
    "recapped": "capacitors replaced",
    "board_swapped": "board swapped",
    "retired": "retired",
}
PARTS: Mapping[str, str] = {
    "original": "original",
    "partial": "partly replaced",
    "replaced_known": "replaced",
    "replaced_unknown": "replaced",
}
OPENS = frozenset({"recap_now", "recap_when_due", "measure"})
