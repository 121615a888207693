"""Ticks of a bench sheet on the page, kept by the browser's own tab.

A phone that sleeps reloads the page, and the ticks of a job half done would be lost. They are kept
by machine and day, told to nobody, and gone when the tab is closed. The sheet that is downloaded
and printed has no script.
"""

import json
from datetime import date

# A box is known by its words and by how often they came before: steps may be added in between.
_SCRIPT = """<script>
(() => {
    const store = NAME, seen = {}, boxes = new Map();
    for (const box of document.querySelectorAll('input[type="checkbox"]')) {
        const near = box.closest("[id]")?.id ?? "";
        const words = box.getAttribute("aria-label") ?? box.closest("label")?.textContent.trim();
        const name = `${near}|${words}`;
        seen[name] = (seen[name] ?? 0) + 1;
        boxes.set(`${name}|${seen[name]}`, box);
    }
    try {
        for (const name of JSON.parse(sessionStorage.getItem(store) ?? "[]")) {
            if (boxes.has(name)) boxes.get(name).checked = true;
        }
    } catch { /* nothing of ours was kept */ }
    document.addEventListener("change", () => {
        const ticked = [...boxes].filter(([, box]) => box.checked).map(([name]) => name);
        try {
            sessionStorage.setItem(store, JSON.stringify(ticked));
        } catch { /* a browser that keeps nothing */ }
    });
})();
</script>
"""


def keeping_ticks(page: str, what: str, day: date) -> str:
    """The sheet's HTML as it is shown on the page; `what`: the machine or the model."""
    name = json.dumps(f"fleet-sheet:{what}:{day.isoformat()}").replace("<", "\\u003c")
    head, end, tail = page.rpartition("</body>")
    return f"{head}{_SCRIPT.replace('NAME', name)}{end}{tail}"
