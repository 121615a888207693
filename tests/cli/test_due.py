"""fleet due."""

import csv
import io
from datetime import date

import pytest

from fleet.frames import DUE

AS_OF = "2024-06-30"


def test_keys_and_every_working_unit(club):
    rows = club("due", "--as-of", AS_OF, "--json").rows()
    assert all(row.keys() >= {*DUE.names(), "age_unit"} for row in rows)
    assert {row["unit"] for row in rows} == {f"TL-{n:03}" for n in range(15, 31)}


def test_the_list_ends_with_the_next_step_on_the_screen_only(club):
    last = club("due", "--as-of", AS_OF).err.splitlines()[-1]
    assert last.startswith("Next: fleet choose UNIT")
    assert "fleet plan" in last
    assert "Next: " not in club("due", "--as-of", AS_OF, "--json").err


def test_values_are_within_their_limits(club):
    for row in club("due", "--as-of", AS_OF, "--json").rows():
        assert row["horizon_years"] == 2.0
        assert row["reason"]
        if row["p_fail"] is not None:
            assert 0 <= row["p_fail"] <= 1
            assert row["p_fail_low"] <= row["p_fail"] <= row["p_fail_high"]
        if row["due_on"] is not None:
            assert date.fromisoformat(row["due_on"]) >= date.fromisoformat(AS_OF)
        else:
            assert row["optimal_age"] is None


def test_age_worked_by_hand(club):
    years, days = (
        {row["unit"]: row for row in club("due", "--as-of", AS_OF, "--json", *more).rows()}
        for more in ([], ["--ages", "days"])
    )
    # TL-020 was made on 1999-05-01: 9192 days before the as-of date.
    assert days["TL-020"]["age"] == 9192.0
    assert years["TL-020"]["age"] == pytest.approx(9192 / 365.25, rel=1e-12)
    assert (years["TL-020"]["age_unit"], days["TL-020"]["age_unit"]) == ("years", "days")
    for unit, row in days.items():
        if row["optimal_age"] is not None:
            assert years[unit]["optimal_age"] == pytest.approx(row["optimal_age"] / 365.25)


def test_longer_horizon_is_likelier(club):
    short, long = (
        club("due", "--as-of", AS_OF, "--json", "--horizon-years", years).rows()
        for years in ("1", "4")
    )
    later = {row["unit"]: row["p_fail"] for row in long}
    assert [row for row in short if row["p_fail"] is not None]
    assert all(row["p_fail"] <= later[row["unit"]] for row in short if row["p_fail"] is not None)


def test_costs_can_be_given(club):
    dear = club("due", "--as-of", AS_OF, "--json", "--planned-cost", "100", "--failure-cost", "90")
    # A failure that costs less than a planned recap is never worth preventing.
    assert {row["optimal_age"] for row in dear.rows()} == {None}


def test_csv_has_the_same_columns(club):
    rows = list(csv.DictReader(io.StringIO(club("due", "--as-of", AS_OF, "--csv").out)))
    assert set(rows[0]) == {*DUE.names(), "age_unit"}


def test_screen_shows_chances_in_per_cent(club):
    done = club("due", "--as-of", AS_OF)
    assert done.code == 0
    assert " %" in done.out
    assert "fails in 2 y" in done.out


def test_first_lists_the_most_urgent_and_says_how_many_are_left(club):
    every = club("due", "--as-of", AS_OF, "--json").rows()
    done = club("due", "--as-of", AS_OF, "--first", "2")
    assert [line.split()[0] for line in done.out.splitlines()[2:4]] == [
        row["unit"] for row in every[:2]
    ]
    assert len(done.out.splitlines()) == 4
    assert f"{len(every) - 2} more units" in done.err


def test_the_screen_begins_the_reason_and_prints_it_whole_on_request(club):
    reason = club("due", "--as-of", AS_OF, "--json").rows()[0]["reason"]
    begun = reason[: reason.index(". ") + 1]
    assert len(begun) < len(reason)
    short = club("due", "--as-of", AS_OF).out.splitlines()[2]
    assert begun in short
    assert reason not in short
    assert reason in club("due", "--as-of", AS_OF, "--reasons").out.splitlines()[2]


def test_nothing_working_is_done(fleet):
    fleet("new")
    done = fleet("due", "--as-of", AS_OF)
    assert (done.code, done.out) == (0, "")
    assert AS_OF in done.err


def test_likelihood_beside_the_posterior(club):
    both = club("due", "--as-of", AS_OF, "--estimate", "both", "--json").rows()
    likelihood = club("due", "--as-of", AS_OF, "--estimate", "likelihood", "--json").rows()
    alone = {row["unit"]: row for row in likelihood}
    assert len(both) == len(alone)
    for row in both:
        other = alone[row["unit"]]
        assert row["p_fail_by_likelihood"] == other["p_fail"]
        assert row["due_on_by_likelihood"] == other["due_on"]
    assert any(row["p_fail"] != row["p_fail_by_likelihood"] for row in both)


def test_a_prior_of_later_wear_out_puts_chances_down(club):
    """Units of 15 and more years: a longer typical life makes them likelier to last."""

    def chances(years):
        rows = club("due", "--as-of", AS_OF, "--typical-life", years, "--json").rows()
        return sum(row["p_fail"] for row in rows)

    assert chances("60") < chances("8")


def test_the_prior_is_said_and_how_far_the_list_hangs_on_it(club):
    said = club("due", "--as-of", AS_OF).err
    assert "Before any report counts, 10 models in 100" in said
    assert "such models in 100" in said
    said = club("due", "--as-of", AS_OF, "--no-wear-out-share", "0.3").err
    assert "Before any report counts, 30 models in 100" in said


def test_a_prior_that_cannot_be_is_refused(club):
    assert club("due", "--no-wear-out-share", "1.5").code == 2
    assert club("due", "--typical-life", "0").code == 2


def test_a_prior_for_maximum_likelihood_is_refused(club):
    done = club("due", "--estimate", "likelihood", "--typical-life", "20")
    assert done.code == 2
    assert "no effect on maximum likelihood" in done.err.replace("\n", " ")


@pytest.mark.parametrize("cost", ["nan", "-5", "0", "inf"])
def test_costs_that_cannot_be_are_refused(club, cost):
    done = club("due", "--as-of", AS_OF, "--failure-cost", cost)
    assert done.code == 1
    assert "give a number above zero" in done.err
