"""fleet plan."""

import pytest
from icalendar import Calendar

from fleet.frames import JOBS

CUT = "2024-06-30"


@pytest.fixture
def bench(club):
    done = club("add", "shop", "--labour-rate", "12", "--bench-hours-per-month", "6",
                "--setup-hours", "0.5", "--budget", "200", "--currency", "EUR")  # fmt: skip
    assert done.code == 0, done.err
    return club


def test_keys_dates_and_limits(bench):
    rows = bench("plan", "--as-of", CUT, "--months", "18", "--json").rows()
    assert rows
    assert all(set(row) == set(JOBS) for row in rows)
    assert [row["on"] for row in rows] == sorted(row["on"] for row in rows)
    for row in rows:
        assert row["on"] >= CUT
        assert row["on"].startswith(row["window"])
        assert row["cost_of_moving"] >= 0
        assert 0 <= row["p_fail_before"] < 1
    months = bench("plan", "--as-of", CUT, "--months", "18", "--by", "month", "--json").rows()
    assert len(months) == 18
    assert sum(month["jobs"] for month in months) == len(rows)
    for month in months:
        assert month["hours"] <= 6 + 1e-6
        assert month["cost"] <= 200 + 1e-6


def test_a_lost_month_says_what_changes(bench):
    plain = bench("plan", "--as-of", CUT, "--months", "18", "--json").rows()
    month = plain[0]["window"]
    done = bench("plan", "--as-of", CUT, "--months", "18", "--lose", month, "--json")
    rows = done.rows()
    assert {row["unit"] for row in rows} == {row["unit"] for row in plain}
    for row in rows:
        assert row["on_if_lost"] is None or not row["on_if_lost"].startswith(month)
    assert f"Were {month} lost" in done.err


def test_a_calendar_file_is_written_and_not_written_over(bench, tmp_path):
    file = tmp_path / "bench.ics"
    done = bench("plan", "--as-of", CUT, "--calendar", file, "--json")
    rows = done.rows()
    assert len(Calendar.from_ical(file.read_bytes()).walk("VEVENT")) == len(rows)
    again = bench("plan", "--as-of", CUT, "--calendar", file)
    assert (again.code, again.out) == (1, "")
    assert "bench.ics is there already" in again.err
    forced = bench("plan", "--as-of", CUT, "--by", "month", "--calendar", file, "--force")
    assert forced.code == 0
    sessions = {(row["window"], row["model"]) for row in rows}
    assert len(Calendar.from_ical(file.read_bytes()).walk("VEVENT")) == len(sessions)


def test_without_records_of_the_bench_it_says_so(club):
    done = club("plan", "--as-of", CUT)
    assert done.code == 0
    assert "no limit of hours" in done.err
    assert "no limit of money" in done.err
    assert "is not recorded: 1 hours are assumed" in done.err
    assert "Unplug it" in done.err or "unplug it" in done.err
    assert "nan" not in (done.out + done.err).lower()


def test_policies_as_for_the_due_list(club):
    done = club("plan", "--as-of", CUT, "--policy", "age", "--age", "30", "--json")
    assert done.code == 0
    due = club("due", "--as-of", CUT, "--policy", "age", "--age", "30", "--json").rows()
    wanted = {r["unit"] for r in due if r["action"].startswith("recap")
              and r["due_on"] < "2026-06-01"}  # fmt: skip
    assert wanted <= {row["unit"] for row in done.rows()}


def test_wrong_usage_and_what_cannot_be(club):
    assert club("plan", "--months", "0").code == 2
    assert club("plan", "--by", "week").code == 2
    assert club("plan", "--policy", "age").code == 2
    lost = club("plan", "--as-of", CUT, "--lose", "2019-01")
    assert (lost.code, lost.out) == (1, "")
    assert "no month '2019-01'" in lost.err
    for option in ("--hours-per-month", "--budget"):
        done = club("plan", "--as-of", CUT, option, "-3")
        assert (done.code, done.out) == (1, "")
        assert "a number above zero" in done.err
