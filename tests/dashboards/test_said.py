"""No page says what is only for machines, whatever store it reads."""

import every_page
import pytest
import said

AS_OF = "2020-01-01"
_MADE = {
    "one machine": [("A-1", "2000-05-01", "working", "2015-03-01")],
    "no failures": [(f"A-{n}", "2000-05-01", "working", f"2015-0{n}-01") for n in range(1, 9)],
    "all failed": [(f"A-{n}", "2000-05-01", "failed", f"20{n + 9}-03-0{n}") for n in range(1, 9)],
    "failed at one age": [(f"A-{n}", "2000-05-01", "failed", "2012-03-01") for n in range(1, 5)],
    "dates unknown": [
        (f"A-{n}", "", kind, "../2019")
        for n, kind in enumerate(("working", "failed", "recapped", "stored"), start=1)
    ],
}
STORES = ("the demo", "nothing in it", *_MADE)
# Sections that open on demand; pages that have none of a name pay no heed to it.
OPENED = ("show_jobs", "changed_batches", "rules", "test_pooling", "show_expected", "report")


@pytest.fixture(scope="module")
def made(tmp_path_factory, built_demo):
    """A function that gives the store of a name, built once."""
    from datetime import date

    from fleet.flow.entering import create_store
    from fleet.flow.importing import import_files

    stores = {"the demo": built_demo}

    def make(name):
        folder = tmp_path_factory.mktemp("said")
        store = folder / "club.duckdb"
        create_store(store)
        rows = _MADE.get(name, [])
        tables = {
            "sources": ["source,collecting_since", "Club,1990-01-01"],
            "models": ["model", "M1"],
            "units": [
                "unit,model,manufactured,enrolled_on,enrolled_because,source",
                *(f"{unit},M1,{made},{made},working,Club" for unit, made, *_ in rows),
            ],
            "reports": [
                "unit,kind,date,cause",
                *(
                    f"{u},{kind},{day},{'capacitor' * (kind == 'failed')}"
                    for u, _, kind, day in rows
                ),
            ],
        }
        for kind, lines in tables.items():
            (folder / f"{kind}.csv").write_text("\n".join(lines) + "\n")
        if rows:
            files = [folder / f"{kind}.csv" for kind in tables]
            done = import_files(store, files, today=date.fromisoformat(AS_OF), by=None)
            assert done.rejected.is_empty()
        return store

    def of(name):
        if name not in stores:
            stores[name] = make(name)
        return stores[name]

    return of


@pytest.mark.parametrize("store", STORES)
@pytest.mark.parametrize("view", every_page.VIEWS)
def test_a_page_says_nothing_that_is_for_machines(made, open_view, monkeypatch, view, store):
    monkeypatch.setenv("FLEET_STORE", str(made(store)))
    unit = "S-075" if store == "the demo" else "A-1"
    chosen = {"unit": unit, "log_kind": "recapped", "every": "4.0"}
    if store != "the demo":
        chosen["as_of"] = AS_OF
    page = open_view(view or "today", **chosen, **dict.fromkeys(OPENED, "True"))
    assert [fault.message for fault in page.exception] == []
    found = [(where, fault) for where, text in said.texts(page) for fault in said.wrong(text)]
    assert list(dict.fromkeys(found)) == []


@pytest.mark.parametrize(
    "text",
    [
        "it lasts inf years", "nan", "from 3 to NaN", "None", "unknown (None)", "null", "NaT",
        "1e+20 years", "3.4e-05", "0.30000000000000004", "['C1', 'C2']", "Timestamp('2020-01-01')",
        "datetime.date(2020, 1, 1)", "board_swapped", "Fit(shape=2)", "<fleet.Fit object at 0x1>",
    ],
)  # fmt: skip
def test_what_is_for_machines_is_found(text):
    assert said.wrong(text) or said.wrong(f"say {text}")


@pytest.mark.parametrize(
    "text",
    [
        "None yet.", "None of these is due.", "Positions. None tapped: all",
        "`fleet log working S-1 --last_seen`", "in full",
        "[one](units?unit=S_1_a)", "C1;C4", "information", "3 in 10", "2024-07-14", "1,000 uF",
        ":material/calendar_month: today",
    ],
)  # fmt: skip
def test_what_people_may_read_is_not(text):
    assert said.wrong(text) == []
