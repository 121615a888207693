"""Which pages there are, as the router says, so that a test of every page forgets none."""

import ast
from pathlib import Path

_APP = Path(__file__).resolve().parents[2] / "dashboards" / "app.py"
# What an address must name before a page of the demo shows what it is for.
_NAMED = {
    "backtest": "every=4.0",  # few past days: they are what takes time there
    "choose": "unit=S-075",
    "log": "unit=S-075",
    "sheet": "unit=S-075",
    "units": "unit=S-075",
}


def views():
    """Each page's name in the address (none for the first) and its title, in the menus' order."""
    found = {}
    for node in ast.walk(ast.parse(_APP.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "Page":
            said = {word.arg: word.value.value for word in node.keywords}
            name = "" if said.get("default") else Path(node.args[0].value).stem
            found[name] = said["title"]
    return found


VIEWS = views()
# By address, with what a page needs to be worth looking at.
ADDRESSES = {
    f"{name}?{_NAMED[name]}" if name in _NAMED else name: title for name, title in VIEWS.items()
}
