"""Every published data set beside the checkout; sources are named in its expected.json.

Tolerances are those stated there: estimates 1e-6 and limits 1e-5 relative, Kaplan-Meier 1e-10,
Turnbull 1e-6.
"""

import pytest

from fleet.fits import compare, curve, fit_weibull

pytestmark = pytest.mark.shared
NAMES = (("shape", "beta"), ("scale", "eta"), ("b10", "b10"))


def survival_at(points, age):
    before = points.filter(points["age"] <= age)
    return before["survival"][-1] if before.height else 1.0


def test_weibull_estimates_and_verdicts(reference):
    checked = 0
    for name, group, want in reference.each("weibull"):
        lives, by = reference.lives(name, group)
        row = fit_weibull(lives, by=by).row(0, named=True)
        assert row["exists"] == want["mle_exists"], (name, group)
        if not row["exists"]:
            assert row["scale"] is None
            assert row["reason"]
            continue
        for ours, theirs in NAMES:
            assert row[ours] == pytest.approx(want[theirs], rel=1e-6), (name, group, ours)
        assert row["log_likelihood"] == pytest.approx(want["loglik"], abs=1e-6)
        checked += 1
    assert checked >= 25


def test_profile_limits(reference):
    checked = 0
    for name, group, want in reference.each("weibull"):
        lives, by = reference.lives(name, group)
        row = fit_weibull(lives, by=by).row(0, named=True)
        for ours, theirs in NAMES:
            limits = want.get("ci95_profile", {}).get(theirs, [])
            for side, limit in zip(("low", "high"), limits, strict=False):
                found = row[f"{ours}_{side}"]
                if limit is None:
                    assert found is None, (name, group, ours, side)
                else:
                    assert found == pytest.approx(limit, rel=1e-5), (name, group, ours, side)
                checked += 1
    assert checked >= 150


@pytest.mark.parametrize("method", ["auto", "turnbull"])
def test_kaplan_meier_also_by_way_of_turnbull(reference, method):
    for name, group, want in reference.each("km"):
        lives, by = reference.lives(name, group)
        points = curve(lives, by=by, method=method).points
        for point in want:
            assert survival_at(points, point["age"]) == pytest.approx(point["S"], abs=1e-10)
            row = points.filter(points["age"] <= point["age"]).tail(1)
            if point["lo"] is not None and row.height:
                assert row["survival_low"][0] == pytest.approx(point["lo"], abs=1e-9)
                assert row["survival_high"][0] == pytest.approx(point["hi"], abs=1e-9)


def test_nelson_aalen(reference):
    for name, group, want in reference.each("km"):
        lives, by = reference.lives(name, group)
        points = curve(lives, by=by).points
        for point in want:
            row = points.filter(points["age"] <= point["age"]).tail(1)
            found = row["cumulative_hazard"][0] if row.height else 0.0
            assert found == pytest.approx(point["H"], abs=1e-10), (name, group)


def test_turnbull_where_it_is_unique(reference):
    for name, group, want in reference.each("turnbull"):
        lives, by = reference.lives(name, group)
        points = curve(lives, by=by).points
        unique = [p for p in want["at"] if p["unique"]]
        assert unique
        for point in unique:
            assert survival_at(points, point["age"]) == pytest.approx(point["S"], abs=1e-6)


def test_failures_known_only_because_they_failed(reference):
    for name, group, want in reference.each("npmle_conditional"):
        lives, by = reference.lives(name, group)
        result = curve(lives, by=by)
        assert "known only because it happened" in result.notes[0]
        for point in want["at"]:
            found = 1.0 - survival_at(result.points, point["age"])
            assert found == pytest.approx(point["F"], abs=1e-6), (name, group)


def test_comparisons(reference):
    checked = 0
    for name, entry in reference.expected.items():
        for columns, want in (entry.get("tests") or {}).items():
            lives, _ = reference.lives(name)
            rows = {r["test"]: r for r in compare(lives, columns.split(":")).to_dicts()}
            for ours, theirs, key in (
                ("log-rank", "logrank", "chi2"),
                ("likelihood-ratio", "lrt_equal_beta_eta", "stat"),
            ):
                if theirs not in want or rows[ours]["statistic"] is None:
                    continue
                assert rows[ours]["statistic"] == pytest.approx(want[theirs][key], rel=1e-6)
                assert rows[ours]["degrees_of_freedom"] == want[theirs]["df"]
                assert rows[ours]["p_value"] == pytest.approx(want[theirs]["p"], rel=1e-6)
                checked += 1
    assert checked >= 12


def test_delayed_entry_that_collapses_is_said(reference):
    lives, by = reference.lives("channing", "gender=1")
    result = curve(lives, by=by)
    assert "falls to 0 at age 781" in result.notes[0]
    assert not result.points.filter(result.points["age"] >= 781)["supported"].any()
