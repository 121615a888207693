"""The record files through records, lives and fits: read whole, and true to the parameters."""

import json
from datetime import date

import polars as pl
import pytest

from fleet import ages
from fleet.fits import fit_weibull
from fleet.frames import known_schema
from fleet.lives import build_lives
from fleet.records import clean, identify, read_tables, resolve_names

CUT = date(2026, 6, 30)


@pytest.fixture(scope="module")
def known(folder):
    cleaned = {raw.kind: clean(raw, today=CUT) for raw in read_tables(folder)}
    assert {kind: table.rejected.height for kind, table in cleaned.items()} == dict.fromkeys(
        cleaned, 0
    )
    resolved = resolve_names({kind: table.kept for kind, table in cleaned.items()}, known={})
    assert resolved.rejected.height == 0
    out = {}
    for kind, frame in resolved.tables.items():
        kept = identify(frame, kind).kept.with_columns(import_id=pl.lit("demo"))
        gone = kept["supersedes"].drop_nulls().implode()
        out[kind] = kept.filter(~pl.col("record").is_in(gone)).select(known_schema(kind).names())
    return out


@pytest.fixture(scope="module")
def table(known):
    return build_lives(known, as_of=CUT)


@pytest.fixture(scope="module")
def truth(folder):
    return json.loads((folder / "truth.json").read_text())


def test_only_the_units_named_in_the_readme_are_left_out(table, truth):
    reasons = dict(table.left_out.select("unit", "reason").iter_rows())
    early = {unit for unit, reason in reasons.items() if "began to collect" in reason}
    other = {unit for unit, reason in reasons.items() if "not by its capacitors" in reason}
    assert early == set(truth["failed_before_collecting"])
    assert set(reasons) - early - other == {truth["contradictory_unit"]}
    assert "retired" in reasons[truth["contradictory_unit"]]


@pytest.mark.parametrize("model", ["DQ31", "WQ18", "IX07"])
def test_limits_of_a_model_cover_its_shape_and_scale(model, table, truth):
    """Factory sets of the models without a bad batch: their honest batches differ little."""
    lives = table.lives.filter((pl.col("parts") == "original") & (pl.col("model") == model))
    fit = fit_weibull(lives).row(0, named=True)
    about = truth["models"][model]
    assert fit["shape_low"] < about["shape"] < fit["shape_high"]
    assert fit["scale_low"] < ages.days(about["scale_years"]) < fit["scale_high"]


def test_limits_of_the_bad_batch_cover_it_and_leave_out_its_model(table, truth):
    bad, model = truth["bad_batch"], truth["models"]["BZ62"]
    lives = table.lives.filter((pl.col("parts") == "original") & (pl.col("batch") == bad))
    fit = fit_weibull(lives).row(0, named=True)
    true = model["batches"][bad]["scale_years"]
    assert fit["shape_low"] < model["shape"] < fit["shape_high"]
    assert fit["scale_low"] < ages.days(true) < fit["scale_high"] < ages.days(model["scale_years"])
