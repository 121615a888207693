"""Every page on one store: seconds until drawn, of processor, bytes to the browser, beside floors.

    python tests/benchmarks/big_store.py even.duckdb
    python tests/benchmarks/pages.py even.duckdb [--pages today due] [--no-browser]

The store is copied first. `first` follows a write to it, so that no answer of before counts as
this one's: seconds until the page is drawn, then until all that comes later is there too. `warm` is
the same page once more. Floors of the same run: reading the tables once, an empty page.
By AppTest the page is computed here; by Chromium it is drawn by a server of its own, with the
processor's seconds of that server. Seconds depend on the machine; the multiples less.
"""

import argparse
import os
import shutil
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import page_server

if TYPE_CHECKING:
    from streamlit.testing.v1 import AppTest

ROOT = Path(__file__).resolve().parents[2]
APP = ROOT / "dashboards" / "app.py"
sys.path.insert(0, str(APP.parent))

VIEWS = (
    "today", "due", "plan", "units", "sheet", "log", "parts", "outcomes", "curves", "suspects",
    "choose", "backtest", "health", "bring_in", "trail",
)  # fmt: skip
_OF_ONE = ("units", "sheet", "log", "choose")  # opened on one machine
_EMPTY_PAGE = 'import streamlit as st\n\nst.title("Nothing")\n'


@dataclass(frozen=True, slots=True, kw_only=True)
class Took:
    """Seconds by the clock and of the processor; bytes to the browser where there was one."""

    clock: float
    processor: float
    sent: int = 0


def main() -> None:
    """Print one table by AppTest, and one by Chromium."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("store", type=Path)
    asked.add_argument("--pages", nargs="*", choices=VIEWS, default=VIEWS)
    asked.add_argument("--as-of", type=date.fromisoformat, default=date(2026, 6, 30))
    asked.add_argument("--no-browser", action="store_true")
    asked.add_argument("--no-apptest", action="store_true")
    asked.add_argument("--patience", type=int, default=300, help="seconds for one page")
    told = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "copy.duckdb"
        shutil.copy(told.store, store)
        os.environ["FLEET_STORE"] = str(store)
        reading = _floor_of_reading(store, told.as_of)
        print(f"reading the tables once: {reading.clock:.2f} s, processor {reading.processor:.2f}")
        if not told.no_apptest:
            _by_apptest(store, told, reading)
        if not told.no_browser:
            _by_chromium(store, told, reading, Path(folder))


def _floor_of_reading(store: Path, as_of: date) -> Took:
    from fleet.flow.answers import READ
    from fleet.flow.known import known_records

    return min(
        (_timed(lambda: known_records(store, READ, as_of=as_of)) for _ in range(3)),
        key=lambda took: took.processor,
    )


def _by_apptest(store: Path, told: argparse.Namespace, reading: Took) -> None:
    from streamlit.testing.v1 import AppTest

    empty = AppTest.from_string(_EMPTY_PAGE, default_timeout=60)
    empty.run()
    nothing = statistics.median(_timed(empty.run).processor for _ in range(5))
    print(f"\nBy AppTest; an empty page: processor {nothing:.3f} s")
    print(_HEAD)
    unit = _one_unit(store)
    for view in told.pages:
        _write(store, unit)
        page = AppTest.from_file(str(APP), default_timeout=told.patience)
        page.query_params["as_of"] = told.as_of.isoformat()
        if view in _OF_ONE:
            page.query_params["unit"] = unit
        if view != "today":
            page.switch_page(f"views/{view}.py")
        first = _timed(page.run)
        whole = _timed(lambda page=page: _until_whole(page, told.patience))
        warm = _timed(page.run)
        fault = f"   {page.exception[0].message}" if page.exception else ""
        print(_line(view, first, whole, warm, reading.processor, nothing) + fault, flush=True)


def _until_whole(page: "AppTest", patience: int) -> None:
    """Run the page again until nothing on it is waited for, as a browser does by itself."""
    until = time.monotonic() + patience
    while any(":material/hourglass:" in text.value for text in (*page.markdown, *page.caption)):
        if time.monotonic() > until:
            raise SystemExit(f"still waiting after {patience} s")
        time.sleep(1.0)
        page.run()


def _by_chromium(
    store: Path, told: argparse.Namespace, reading: Took, folder: Path
) -> None:  # fmt: skip
    blank = folder / "blank.py"
    blank.write_text(_EMPTY_PAGE, encoding="utf-8")
    with page_server.browser() as chromium:
        with page_server.serve(blank, folder) as server:
            _drawn(chromium, server, "", 60)
            nothing = _drawn(chromium, server, "", 60)
        print(
            f"\nBy Chromium; an empty page: {nothing.clock:.2f} s, server's processor "
            f"{nothing.processor:.3f}, {nothing.sent:,} bytes"
        )
        print(f"{_HEAD}   bytes")
        unit = _one_unit(store)
        with page_server.serve(APP, ROOT) as server:
            _drawn(chromium, server, "bring_in", told.patience)  # what is loaded once
            for view in told.pages:
                _write(store, unit)
                address = _address(view, unit, told.as_of)
                first = _drawn(chromium, server, address, told.patience)
                whole = _drawn(chromium, server, address, told.patience, whole=True)
                warm = _drawn(chromium, server, address, told.patience)
                line = _line(view, first, whole, warm, reading.processor, nothing.processor)
                print(f"{line}   {warm.sent:,}", flush=True)
            if "log" in told.pages:
                saved, processor = page_server.save_and_see(chromium, server, unit)
                print(
                    f"log        from the click on save to the line it is in: {saved:.2f} s "
                    f"(processor {processor:.2f})"
                )


def _address(view: str, unit: str, as_of: date) -> str:
    path = "" if view == "today" else view
    return f"{path}?as_of={as_of}" + (f"&unit={unit}" if view in _OF_ONE else "")


def _drawn(
    chromium: page_server.Browser,
    server: page_server.Server,
    address: str,
    patience: int,
    *,
    whole: bool = False,
) -> Took:
    before = server.processor()
    clock, sent = page_server.draw(chromium, server.address, address, patience, whole=whole)
    return Took(clock=clock, processor=server.processor() - before, sent=sent)


_HEAD = (
    "page         drawn (processor)  x reading    all there (processor)    warm (processor)  "
    "x empty page"
)


def _line(view: str, first: Took, whole: Took, warm: Took, reading: float, nothing: float) -> str:
    return (
        f"{view:9s} {first.clock:7.2f} s ({first.processor:6.2f})  "
        f"{first.processor / reading:6.1f} x    {whole.clock:8.1f} s ({whole.processor:7.2f})   "
        f"{warm.clock:7.2f} s ({warm.processor:5.2f})   {warm.processor / nothing:7.1f} x"
    )


def _one_unit(store: Path) -> str:
    """A machine in the middle of the list of those at work."""
    from fleet.flow.known import known_records

    frames = known_records(store, ("units", "reports"), as_of=None)
    gone = frames["reports"].filter(kind="retired")["unit"].implode()
    units = frames["units"].filter(~frames["units"]["unit"].is_in(gone))["unit"].sort()
    return str(units[len(units) // 2])


def _write(store: Path, unit: str) -> None:
    """A note, so that the store is in a state that nobody has seen."""
    from fleet.flow.entering import log_reports

    fields = {"date": "2026-06-30", "notes": f"measured, {time.monotonic_ns()}"}
    log_reports(store, "note", [unit], fields, readings=[], today=date(2026, 6, 30), by="bench")


def _timed(work: Callable[[], object]) -> Took:
    clock, processor = time.perf_counter(), time.process_time()
    work()
    return Took(clock=time.perf_counter() - clock, processor=time.process_time() - processor)


if __name__ == "__main__":
    main()
