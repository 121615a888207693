"""fleet unit: one machine's history, found by part of its name."""

import pytest


def test_the_history_in_order_with_its_due_date(club):
    done = club("unit", "TL-017", "--as-of", "2024-06-30")
    assert done.code == 0
    lines = done.out.splitlines()
    assert [line.split()[1] for line in lines[2:]] == ["built", "enrolled", "working"]
    assert "TL-017: model BM-2" in done.err
    assert "What to do: " in done.err
    assert done.err.splitlines()[-1].startswith("Next: ")
    assert "TL-017" in done.err.splitlines()[-1]


def test_a_recap_that_did_not_cure_says_it_worked_before(club):
    club("log", "recapped", "TL-017", "--on", "2024-06-01", "--because", "planned", "--positions",
         "all", "--cured", "no")  # fmt: skip
    done = club("unit", "TL-017", "--no-due")
    assert "planned, still working before; all positions; it did not work afterwards" in done.out
    assert "it worked;" not in done.out


def test_what_was_entered_after_the_day_is_counted_aloud(club):
    for day in ("2020-03-01", "2021-03-01"):
        assert club("log", "working", "TL-017", "--on", day).code == 0
    later = "entered on TL-017 after 2024-06-30 about days before it: not counted here"
    past = club("unit", "TL-017", "--as-of", "2024-06-30", "--no-due")
    assert f"2 records were {later}" in past.err
    assert later not in club("unit", "TL-018", "--as-of", "2024-06-30", "--no-due").err
    listed = club("due", "--as-of", "2024-06-30")
    assert "2 records were entered after 2024-06-30 about days before it" in listed.err
    assert "about days before it" not in club("unit", "TL-017", "--no-due").err


def test_json_has_every_event(club):
    rows = club("unit", "TL-001", "--no-due", "--json").rows()
    assert [row["what"] for row in rows] == ["built", "enrolled", "failed"]
    assert {row["unit"] for row in rows} == {"TL-001"}
    assert {row["standing"] for row in rows} == {"counts"}


@pytest.mark.parametrize(
    ("show", "key"),
    [("lives", "set_no"), ("failures", "cause"), ("readings", "esr_share"),
     ("disagreements", "reason")],
)  # fmt: skip
def test_what_else_can_be_shown(club, show, key):
    if show == "readings":
        club(
            "log", "working", "TL-001", "--on", "2024-05-01", "--anyway", "--reading", "C3,esr=0.2"
        )
    done = club("unit", "TL-001", "--no-due", "--show", show, "--csv")
    assert done.code == 0, done.err
    assert key in done.out.splitlines()[0].split(",")


def test_a_correction_stands_beside_what_it_corrected(club):
    record = club("unit", "TL-001", "--no-due", "--json").rows()[-1]["record"]
    club("amend", record, "--set", "cause=other")
    rows = club("unit", "TL-001", "--no-due", "--json").rows()
    assert sorted(row["standing"] for row in rows[-2:]) == ["corrected", "counts"]
    assert "cause: capacitor → other" in [row["changed"] for row in rows]


def test_a_machine_that_failed_says_why_it_is_not_due(club):
    done = club("unit", "TL-001", "--as-of", "2024-06-30")
    assert "failed and has not been seen working since" in done.err


@pytest.mark.parametrize(("asked", "said"), [("TL-0", "30 units have TL-0"), ("QX", "no unit has")])
def test_a_name_that_fits_several_or_none_is_1(club, asked, said):
    done = club("unit", asked)
    assert done.code == 1
    assert said in done.err
