"""What to do next with a machine, with the command for it."""

_FIRST = {
    "check_in": "ask after it, then `fleet log working {unit}` or `fleet log failed {unit}`",
    "measure": "`fleet sheet {unit}` prints a sheet with room for the readings; log them, then ask "
    "again",
}
_THEN = {
    "recap_now": "`fleet choose {unit}` weighs a recap against the rest, `fleet plan` says in "
    "which month, `fleet sheet {unit}` prints the sheet for it",
    "recap_when_due": "`fleet plan` says in which month; until then leave it",
    "leave": "leave it; `fleet log working {unit}` whenever it is seen to work",
}
_DEAD = "`fleet choose {unit}` says whether a recap pays, `fleet sheet {unit}` is for the bench"


def asked_first(action: str | None, unit: str) -> str | None:
    """The step where the due list asks for something before a decision, else None."""
    return f"Next: {_FIRST[action].format(unit=unit)}" if action in _FIRST else None


def next_of(action: str | None, unit: str) -> str:
    """The step after the due list's `action`; None: it failed and waits for the bench."""
    return asked_first(action, unit) or (
        f"Next: {_THEN.get(action or '', _DEAD).format(unit=unit)}"
    )
