"""What stands on a day, against a few lines of plain Python."""

import random
import string
import tempfile
from datetime import date, timedelta
from pathlib import Path

import polars as pl
from hypothesis import given, settings
from hypothesis import strategies as st

from fleet import store
from fleet.frames import REJECTED, clean_schema, empty_frame

JAN, APR = date(2020, 1, 1), date(2020, 4, 1)
DAY = timedelta(days=1)


@st.composite
def histories(draw):
    """Reports with corrections and withdrawals such as can have happened: a record is corrected
    at most once, and what is corrected by a standing record is not taken back.
    """
    day = st.integers(0, 6).map(lambda n: JAN + n * DAY)
    made = []
    for number in range(draw(st.integers(1, 7))):
        free = [r["record"] for r in made if not r["corrected"]]
        target = draw(st.none() | st.sampled_from(free)) if free else None
        for row in made:
            row["corrected"] |= row["record"] == target
        made.append(
            {
                "record": string.ascii_lowercase[number],
                "supersedes": target,
                "entered_on": draw(st.none() | day),
                "reconstructed": draw(st.booleans()),
                "date_latest": draw(day),
                "corrected": False,
                "taken_back": None,
            }
        )
    for row in reversed(made):
        standing = [r for r in made if r["supersedes"] == row["record"] and not r["taken_back"]]
        if not standing:
            row["taken_back"] = draw(st.none() | day)
    return made, draw(st.integers(0, 1000))


def _stood(made, day):
    """The rule of the design in plain words."""

    def visible(row):
        entered = row["entered_on"] is None or row["entered_on"] <= day
        gone = row["taken_back"] and (row["reconstructed"] or row["taken_back"] <= day)
        return entered and not gone

    seen = [row for row in made if visible(row)]
    corrected = {row["supersedes"] for row in seen}
    return sorted(
        row["record"]
        for row in seen
        if row["record"] not in corrected and row["date_latest"] <= day
    )


@given(histories())
@settings(max_examples=15)
def test_any_history_in_any_order_reads_as_the_plain_rule_says(history):
    made, seed = history
    given_rows = [
        {
            "file": "x.csv",
            "line": n,
            "content": row["record"],
            "unit": "TL-1",
            "date": str(row["date_latest"]),
            "date_earliest": JAN,
            "kind": "working",
            **{k: row[k] for k in row if k not in ("corrected", "taken_back")},
        }
        for n, row in enumerate(made)
    ]
    withdrawals = [
        {
            "record": f"w-{row['record']}",
            "content": "x",
            "entered_on": row["taken_back"],
            "kind": "reports",
            "withdraws": row["record"],
        }
        for row in made
        if row["taken_back"]
    ]
    random.Random(seed).shuffle(given_rows)
    tables = {
        kind: pl.DataFrame(
            [{c: row.get(c) for c in clean_schema(kind)} for row in rows],
            schema=clean_schema(kind),
        )
        for kind, rows in (("withdrawn", withdrawals), ("reports", given_rows))
    }
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.duckdb"
        store.create(path)
        done = store.append(path, tables, empty_frame(REJECTED), what="x", today=APR, by=None)
        assert done.rejected.is_empty()
        days = [JAN + n * DAY for n in range(-1, 8)]
        stood = [store.known(path, ("reports",), as_of=day)["reports"] for day in days]
    for day, known in zip(days, stood, strict=True):
        assert sorted(known["record"]) == _stood(made, day)
