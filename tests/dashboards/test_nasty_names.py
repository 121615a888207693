"""Names from records mean nothing to Markdown: on no page is one of them a link, a picture, a
colour, slanted, or HTML."""

import re
from datetime import date

import every_page
import pytest
import words

NASTY = "*x*[l](http://e.example):red[r]<b>:material/delete:"
BATCH = "*x*[l](e.example)<b>b"  # a colon separates names in a list
# What may follow only after a backslash, and what no backslash helps against.
ALIVE = re.compile(
    r"(?<!\\)(\*x|x\*|\[l|\[r|<b>)|:\\?material/delete|(?<!\\):red|http\\?:\\?//e\.|a@b\.example"
)
# Fields of an element that the browser reads as Markdown.
MARKDOWN = ("body", "label", "help", "options", "caption", "captions")
# Of these only what is around them: names to choose from, and what is typed, are shown as they are.
PLAIN_OPTIONS = {"selectbox", "multiselect"}


@pytest.fixture(scope="module")
def built_nasty(tmp_path_factory):
    """Machines, models, batches, sources, parts and positions with names like Markdown."""
    from fleet.flow.entering import create_store
    from fleet.flow.importing import import_files

    n = NASTY
    tmp_path = tmp_path_factory.mktemp("nasty")
    ended = [("failed", f"20{10 + k % 9}-03-1{k % 9}", "capacitor") for k in range(9)]
    ended += [("working", "2019-06-30", "")] * 9
    units = [
        f"{k}{n},{n}{k % 2},{BATCH}{k % 3},2000-05-01,2000-05-01,working,{n},{n},{n}"
        for k in range(len(ended))
    ]
    reports = [f"{k}{n},{kind},{day},{cause},C1,{n},{n} a@b.example" for k, (kind, day, cause)
               in enumerate(ended)]  # fmt: skip
    place = "100uF,25,105,8,12,radial"
    tables = {
        "sources": ["source,collecting_since", f"{n},1990-01-01"],
        "models": ["model,planned_cost,failure_cost,currency",
                   *(f"{n}{k},30,150,XTS" for k in (0, 1))],
        "batches": ["batch,made", *(f"{BATCH}{k},2000-01" for k in range(3))],
        "units": ["unit,model,batch,manufactured,enrolled_on,enrolled_because,source,site,notes",
                  *units],
        "positions": ["model,position,capacitance,voltage,temperature,diameter_mm,length_mm,"
                      "lead_form,role,notes", *(f"{n}{k},C1,{place},{n},{n}" for k in (0, 1))],
        "offers": ["part,capacitance,voltage,temperature,diameter_mm,length_mm,lead_form,"
                   "rated_hours,supplier,price,currency", f"{n}p,{place},5000,{n},1,XTS"],
        "shop": ["labour_rate,bench_hours_per_month,currency", "40,20,XTS"],
        "reports": ["unit,kind,date,cause,positions,symptom,notes", *reports],
    }  # fmt: skip
    files = []
    for kind, lines in tables.items():
        files.append(tmp_path / f"{kind}.csv")
        files[-1].write_text("\n".join(lines) + "\n")
    store = tmp_path / "nasty.duckdb"
    create_store(store)
    done = import_files(store, files, today=date(2020, 1, 1), by=NASTY)
    assert done.rejected.is_empty(), done.rejected["reason"].to_list()
    return store


def _texts(page):
    """What the browser reads as Markdown, with the kind of element."""
    for element in page:
        if not hasattr(element, "proto") or element.proto is None:
            continue
        for name in MARKDOWN:
            said = getattr(element.proto, name, None)
            if said is None or (name == "options" and element.type in PLAIN_OPTIONS):
                continue
            for text in [said] if isinstance(said, str) else said:
                yield element.type, str(text)


@pytest.mark.parametrize("view", [view or "today" for view in every_page.VIEWS])
def test_on_no_page_is_a_name_alive(built_nasty, monkeypatch, open_view, view):
    monkeypatch.setenv("FLEET_STORE", str(built_nasty))  # read only
    named = {"unit": f"12{NASTY}"} if view in ("units", "log", "choose", "sheet") else {}
    folded = {"show_rate": "True", "show_expected": "True", "rules": "True", "every": "8.0"}
    page = open_view(view, as_of="2020-01-01", **named, **folded)
    assert not page.exception
    alive = {f"{kind}: {text[:300]}" for kind, text in _texts(page) if ALIVE.search(text)}
    assert not alive


@pytest.mark.parametrize(
    "text",
    [NASTY, "a@b.example", "www.e.example", ":smile:", ":material/delete:", "&lt;b&gt;"],
)
def test_what_is_shown_is_what_was_said(text):
    shown = words.escaped(text)
    assert re.sub(r"\\([^\w\s])", r"\1", shown).replace("\u200c", "") == text
    assert not ALIVE.search(shown)


def test_a_name_begins_no_list_and_no_line_across():
    assert words.escaped("- x") == r"\- x"
    assert words.escaped("12. x") == r"12\. x"
    assert words.escaped("---") == r"\---"
    assert words.escaped("a\r\nb") == "a b"
