"""The calendar file, read back by its own library and by hand as RFC 5545 has it."""

from datetime import UTC, date, datetime

import polars as pl
import pytest
from icalendar import Calendar

from fleet.flow.plan_tables import WORK
from fleet.frames import JOBS
from fleet.sheets.calendar_file import calendar_file

AS_OF = date(2026, 6, 30)
LONG = (
    "Due on 3 August 2026; 5 months after that, with 2 more of its model: café, 55 °C; \\ and \n."
)


def jobs(*rows):
    told = [
        {"unit": u, "model": m, "on": on, "window": f"{on:%Y-%m}", "due_on": on, "hours": 1.5,
         "reason": LONG}
        for u, m, on in rows
    ]  # fmt: skip
    return pl.DataFrame([{n: row.get(n) for n in JOBS} for row in told], schema=JOBS)


def work(*rows):
    return pl.DataFrame(
        [{"month": f"{on:%Y-%m}", "from": on.replace(day=1), "model": m, "on": on, "to": to,
          "jobs": n, "hours": 1.5 * n + 0.75} for m, on, to, n in rows],
        schema=WORK,
    )  # fmt: skip


JULY, SEPTEMBER = date(2026, 7, 1), date(2026, 9, 12)
TWO = jobs(("S-1", "WQ18", JULY), ("S-2", "WQ18", JULY), ("S-3", "BZ62", SEPTEMBER))
WORKED = work(("WQ18", JULY, date(2026, 7, 20), 2), ("BZ62", SEPTEMBER, SEPTEMBER, 1))


def events(content):
    return list(Calendar.from_ical(content).walk("VEVENT"))


def lines(content):
    """Unfolded content lines (RFC 5545, 3.1), without a library."""
    return content.decode("utf-8").replace("\r\n ", "").split("\r\n")


def test_a_session_is_one_event_of_whole_days():
    read = events(calendar_file(TWO, WORKED, as_of=AS_OF))
    assert [str(e["SUMMARY"]) for e in read] == ["Recap 2 x WQ18", "Recap 1 x BZ62"]
    first, second = read
    assert (first.decoded("DTSTART"), first.decoded("DTEND")) == (JULY, date(2026, 7, 21))
    # an event of one day ends with the day after (3.6.1: DTEND is not part of it)
    assert second.decoded("DTEND") - second.decoded("DTSTART") == date(2026, 1, 2) - date(
        2026, 1, 1
    )
    assert "S-1, S-2" in str(first["DESCRIPTION"])


def test_a_job_is_one_event_with_its_reason():
    read = events(calendar_file(TWO, WORKED, as_of=AS_OF, by="job"))
    assert [str(e["SUMMARY"]) for e in read] == [
        "Recap S-1 (WQ18)", "Recap S-2 (WQ18)", "Recap S-3 (BZ62)",
    ]  # fmt: skip
    assert str(read[0]["DESCRIPTION"]).endswith(LONG)


def test_what_the_standard_asks_of_every_event():
    """3.6.1: UID and DTSTAMP are required, DTSTAMP in UTC (3.8.7.2); no alarm is asked for."""
    content = calendar_file(TWO, WORKED, as_of=AS_OF, by="job")
    whole = Calendar.from_ical(content)
    assert (str(whole["VERSION"]), str(whole["CALSCALE"])) == ("2.0", "GREGORIAN")
    assert whole["PRODID"]
    for event in whole.walk("VEVENT"):
        assert event.decoded("DTSTAMP") == datetime(2026, 6, 30, tzinfo=UTC)
        assert str(event["TRANSP"]) == "TRANSPARENT"
    assert not whole.walk("VALARM")
    assert not whole.walk("VTIMEZONE")


def test_lines_end_and_fold_and_escape_as_the_standard_says():
    content = calendar_file(TWO, WORKED, as_of=AS_OF, by="job")
    assert content.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(len(line) for line in content.split(b"\r\n")) <= 75  # octets, 3.1
    (told,) = {line for line in lines(content) if line.startswith("DESCRIPTION")}
    assert r"café\, 55 °C\; \\ and \n." in told


def test_the_same_job_keeps_its_uid_when_it_moves_and_no_two_share_one():
    before = events(calendar_file(TWO, WORKED, as_of=AS_OF, by="job"))
    moved = jobs(("S-1", "WQ18", date(2026, 8, 1)))
    later = work(("WQ18", date(2026, 8, 1), date(2026, 8, 9), 1))
    after = events(calendar_file(moved, later, as_of=date(2026, 7, 5), by="job"))
    assert str(after[0]["UID"]) == str(before[0]["UID"])
    assert after[0].decoded("DTSTAMP") > before[0].decoded("DTSTAMP")
    both = [*before, *events(calendar_file(TWO, WORKED, as_of=AS_OF))]
    assert len({str(e["UID"]) for e in both}) == len(both)


@pytest.mark.parametrize("by", ["job", "month"])
def test_the_same_plan_gives_the_same_file_and_no_jobs_an_empty_one(by):
    assert calendar_file(TWO, WORKED, as_of=AS_OF, by=by) == calendar_file(
        TWO, WORKED, as_of=AS_OF, by=by
    )
    none = calendar_file(TWO.clear(), WORKED.clear(), as_of=AS_OF, by=by)
    assert not events(none)
    assert lines(none)[0] == "BEGIN:VCALENDAR"
