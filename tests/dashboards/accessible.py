"""The automated accessibility check, and the few findings that we cannot mend."""

from dataclasses import dataclass

from axe_playwright_python.sync_playwright import Axe

_GRAVE = {"serious", "critical"}
# Moderate by axe's own reckoning, and ours to keep: who listens finds a page's parts by them.
_ALSO = {"heading-order"}
_AXE = Axe()  # its script lies in the package; nothing is fetched


@dataclass(frozen=True)
class Allowed:
    """A finding inside a part of the page library that no setting of ours reaches."""

    rule: str
    inside: str  # a selector: the finding is on such a node or within one
    looks: tuple[str, ...]  # where it must still be found, or the entry goes
    why: str


ALLOWED = (
    Allowed(
        rule="list",
        inside="[data-testid='stSidebarNavItems']",
        looks=("phone",),
        why="on a phone the menu's groups are drawn by the page library as blocks within its "
        "list; all links are there, in order, and can be reached",
    ),
    Allowed(
        rule="listitem",
        inside="[data-testid='stSidebarNavItems']",
        looks=("phone",),
        why="the same blocks stand between that list and its entries",
    ),
)


@dataclass(frozen=True)
class Finding:
    """One rule broken by one node."""

    rule: str
    impact: str
    where: str
    html: str
    why: str
    allowed: Allowed | None

    def __str__(self):
        return f"{self.rule} ({self.impact}) at {self.where}: {self.why}\n    {self.html}"


def findings(page):
    """What axe finds on a page, frames within it included, and whether it is allowed."""
    found = []
    for frame in page.frames:
        for broken in _AXE.run(frame).response["violations"]:
            if broken["impact"] not in _GRAVE and broken["id"] not in _ALSO:
                continue
            found += [_finding(frame, broken, node) for node in broken["nodes"]]
    return found


def _finding(frame, broken, node):
    where = node["target"][-1]
    inside = "(node, outer) => node !== null && node.closest(outer) !== null"
    return Finding(
        rule=broken["id"],
        impact=broken["impact"],
        where=where,
        html=node["html"][:300],
        why="; ".join(part["message"] for part in node["any"] + node["all"] + node["none"]),
        allowed=next(
            (
                entry
                for entry in ALLOWED
                if entry.rule == broken["id"]
                and frame.locator(where).first.evaluate(inside, entry.inside)
            ),
            None,
        ),
    )
