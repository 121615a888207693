"""Sentences of answers name commands; on a page they name the page that does the same."""

import re
from collections.abc import Mapping

_PAGES: Mapping[str, str] = {
    "backtest": "How well it did",
    "check": "Data health",
    "choose": "Keep, recap or replace",
    "curve": "Curves",
    "due": "Due list",
    "fit": "Curves",
    "import": "Bring in data",
    "log": "Log a report",
    "order": "Plan and order",
    "outcomes": "How recaps turned out",
    "part": "Parts",
    "plan": "Plan and order",
    "sheet": "Bench sheet",
    "suspects": "Batch or design?",
}
_ADDED: Mapping[str, str] = {"offer": "Parts", "position": "Parts"}
_OTHERWISE_ADDED = "Bring in data"
_KINDS = "unit|model|position|batch|offer|stock|shop|price|step"
_NAMED = "|".join([*_PAGES, "amend"])
# Between backticks a command is whole; without them it ends after its name, and a kind of record,
# or after what is to be set in a record.
_COMMAND = re.compile(
    r"(?P<with>\bwith:? )?(?:`fleet (?P<whole>[^`]+)`|"
    rf"\bfleet (?P<bare>add(?: (?:{_KINDS})\b)?|"
    rf"amend \S+(?: --set [^\s=]+=[^\s;,.]+)+|(?:{_NAMED})\b))"
)


def instead_of_commands(text: str, *, amend: str = "One machine") -> str:
    """`text` with pages for commands; `amend`: the page where what it speaks of is corrected."""

    def page(found: re.Match[str]) -> str:
        command, kind = f"{found['whole'] or found['bare']} ".split(" ", 2)[:2]
        if command == "add":
            name = _ADDED.get(kind, _OTHERWISE_ADDED)
        else:
            name = amend if command == "amend" else _PAGES.get(command, "")
        if not name:
            return found[0]
        return f"on the page {name}" if found["with"] else f"the page {name}"

    return _COMMAND.sub(page, text)
