"""Fleets as records: how many failures, the same from the same seed, accepted by every check."""

import numpy as np
import polars as pl
import pytest
from fleets.kinds import KINDS, OLD
from fleets.make import AS_OF, HORIZON_YEARS, join_records, make_fleets
from polars.testing import assert_frame_equal

from fleet.ages import DAYS_PER_YEAR
from fleet.frames import KINDS as RECORD_KINDS
from fleet.frames import private_columns
from fleet.lives import build_lives
from fleet.records import clean, identify, read_tables, resolve_names, write_tables

NO_LIFE = {
    "it was enrolled because it failed, not by its capacitors, and has not been seen working since"
}


@pytest.mark.parametrize("failures", [5, 20])
def test_a_fleet_has_the_failures_asked_for_and_the_last_unit_brings_the_last(fleets_of, failures):
    for fleet in fleets_of("old", failures=failures):
        told = fleet.records["reports"].filter(pl.col("kind") == "failed")
        units = told["unit"].unique()
        # Blank causes hide who is who: no more than the cause column leaves open.
        sure = (told["cause"] == "capacitor").sum()
        assert sure <= failures <= sure + told["cause"].null_count()
        assert fleet.units["unit"][-1] in units.to_list()


def test_the_same_seed_gives_the_same_fleets_and_few_are_the_first_of_many():
    few, many = (make_fleets("everything", fleets=n, failures=5, seed=11) for n in (2, 3))
    for one, other in zip(few, many[:2], strict=True):
        assert one.truth.scale == other.truth.scale
        assert_frame_equal(one.units, other.units)
        for kind in one.records:
            assert_frame_equal(one.records[kind], other.records[kind])
    assert many[0].truth.scale != many[1].truth.scale
    other_seed = make_fleets("everything", fleets=1, failures=5, seed=12)[0]
    assert other_seed.truth.scale != many[0].truth.scale


@pytest.mark.parametrize(
    "kind",
    ["old", "young", "everything", "twice", "planned", "readings", "vague_enrolment"],
)
def test_records_pass_the_checks_of_an_import(fleets_of, tmp_path, kind):
    records = join_records(fleets_of(kind))
    write_tables(tmp_path, records)
    cleaned = {raw.kind: clean(raw, today=AS_OF) for raw in read_tables(tmp_path)}
    resolved = resolve_names({k: c.kept for k, c in cleaned.items()}, known={})
    assert set(cleaned) == {k for k, frame in records.items() if frame.height}
    assert resolved.rejected.is_empty()
    for name, one in cleaned.items():
        assert one.rejected.is_empty()
        assert identify(resolved.tables[name], name).rejected.is_empty()
        # Dates are read as the simulator meant them.
        private = private_columns(name)  # no simulated owner writes any
        compared = [c for c in ("record", "entered_on", *_columns(name)) if c not in private]
        assert_frame_equal(
            one.kept.select(compared).sort("record"),
            records[name].select(compared).sort("record"),
        )


def _columns(kind):
    out = []
    for column in RECORD_KINDS[kind].columns:
        out.append(column.name)
        if column.form == "date":
            out += [f"{column.name}_earliest", f"{column.name}_latest"]
    return out


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"contradictory"}))
def test_nothing_contradicts_and_the_units_thought_to_work_are_those_listed(fleets_of, kind):
    fleets = fleets_of(kind)
    built = build_lives(join_records(fleets), as_of=AS_OF)
    assert set(built.left_out["reason"]) <= NO_LIFE
    units = pl.concat([fleet.units for fleet in fleets])
    listed = units.filter("thought_to_work").sort("unit")
    assert listed["unit"].to_list() == built.working["unit"].sort().to_list()
    # A unit not listed told of a failure, so it does not work or was renewed out of sight.
    partial = built.working.sort("unit")["parts"] == "partial"
    assert (listed["partial"] == partial).all()
    assert (listed["batch"].is_not_null()).all()


def test_every_class_differs_from_old_in_what_its_name_says(fleets_of):
    units = {k: pl.concat([f.records["units"] for f in fleets_of(k)]) for k in KINDS}
    assert units["old"]["ambient_c"].null_count() == units["old"].height
    for kind in ("heat", "heat_idle"):
        assert 0.3 < units[kind]["ambient_c"].is_null().mean() < 0.7
        assert 0.3 < units[kind]["hours_per_year"].is_null().mean() < 0.7
    assert fleets_of("forgetting")[0].records["sources"]["collecting_since"].to_list() == [None]
    assert fleets_of("old")[0].records["sources"]["collecting_since"].to_list() == ["2014-01-01"]
    reports = {k: pl.concat([f.records["reports"] for f in fleets_of(k)]) for k in KINDS}
    assert "recapped" not in reports["old"]["kind"].to_list()
    assert reports["second_lives"].filter(pl.col("kind") == "recapped").height > 10
    again = (reports["twice"]["by"] == "second").sum() / (
        reports["twice"]["kind"] == "failed"
    ).sum()
    assert 0.1 < again < 0.4
    wrong = pl.concat([f.units.select("unit", true="batch") for f in fleets_of("wrong_batch")])
    told = units["wrong_batch"].join(wrong, on="unit")
    assert 0.0 < (told["batch"] != told["true"]).mean() < 0.2


def test_the_shares_written_down_are_those_of_the_class():
    fleets = make_fleets("old", fleets=15, failures=50, seed=2)
    reports = pl.concat([fleet.records["reports"] for fleet in fleets])
    failed = reports.filter(pl.col("kind") == "failed")
    near = 4 * 0.5 / np.sqrt(failed.height)
    assert abs(failed["cause"].is_null().mean() - OLD.unknown_cause) < near
    assert abs((failed["date"].str.len_chars() == 4).mean() - OLD.failure_to_year) < near
    assert abs(failed["found_dead"].fill_null(value=False).mean() - 0.5) < near
    units = pl.concat([fleet.records["units"] for fleet in fleets])
    to_year = (units["manufactured"].str.len_chars() == 4).mean()
    assert abs(to_year - OLD.build_to_year) < 4 * 0.5 / np.sqrt(units.height)


@pytest.mark.parametrize("kind", ["old", "failure_free", "lognormal", "bad_share", "everything"])
def test_the_true_chance_against_redraws(fleets_of, rng, kind):
    """Lives drawn anew from the start of each position, those kept that work at as_of."""
    fleet = max(fleets_of(kind), key=lambda f: f.units["thought_to_work"].sum())
    units = fleet.units.filter("thought_to_work").head(6)
    now = float((AS_OF - AS_OF.replace(year=1970)).days)
    law, draws = fleet.truth.law, 400_000
    for unit in units.iter_rows(named=True):
        factor = np.where(rng.random(draws) < unit["bad"], law.bad_factor, 1.0)
        fails = np.minimum(
            *(
                unit[f"start_{n}"]
                + unit[f"scale_{n}"] * factor * law.age_at(2.0 * rng.exponential(size=draws))
                for n in (1, 2)
            )
        )
        works = fails[fails > now]
        if works.size < 2000:
            continue
        share = (works <= now + HORIZON_YEARS * DAYS_PER_YEAR).mean()
        error = np.sqrt(max(unit["p_fail"] * (1.0 - unit["p_fail"]), 1e-4) / works.size)
        assert abs(share - unit["p_fail"]) < 4.5 * error


def test_what_happens_later_agrees_with_the_chances():
    """Over many fleets as many machines that work now fail within two years as the truth says."""
    fleets = make_fleets("old", fleets=80, failures=20, seed=9)
    units = pl.concat([fleet.units for fleet in fleets]).filter("thought_to_work", "works")
    now = float((AS_OF - AS_OF.replace(year=1970)).days)
    later = (units["fails_on"] <= now + HORIZON_YEARS * DAYS_PER_YEAR).to_numpy()
    p = units["p_fail"].to_numpy()
    assert units.height > 1000
    assert abs(later.sum() - p.sum()) < 4.0 * np.sqrt((p * (1.0 - p)).sum())
    risky = p > np.median(p)
    assert abs(later[risky].sum() - p[risky].sum()) < 4.0 * np.sqrt((p * (1.0 - p))[risky].sum())
