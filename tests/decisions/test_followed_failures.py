"""Failures to expect of machines for as long as they were followed."""

from datetime import date

import numpy as np
import polars as pl
import pytest
from scipy import stats

from fleet.decisions import COUNTS, followed_failures
from fleet.errors import BadFrame
from fleet.frames import CELLS, DRAWS, WORKING

AS_OF = date(2025, 12, 31)


def cells_of(*models):
    rows = [{"model": m, "parts": p, "batch": b, "lives": 9.0, "failures": 9.0,
             "borrowed": False, "usual_c": 25.0, "usual_hours": 2000.0}
            for m in models
            for p, b in [("original", "A"), ("original", None), ("replaced", None)]]  # fmt: skip
    frame = pl.DataFrame(rows).with_row_index("cell")
    frame = frame.with_columns(to_come=pl.col("batch").is_null())
    missing = [pl.lit(None).alias(c) for c in CELLS if c not in frame.columns]
    return frame.with_columns(missing).select(CELLS.names()).cast(CELLS)


def draws_of(cells, shape, scales):
    """One draw for each scale; the same for every cell."""
    count = len(scales)
    return pl.DataFrame(
        {
            "cell": np.repeat(cells["cell"], count),
            "draw": np.tile(np.arange(count), cells.height),
            "weight": 1.0 / count,
            "shape": float(shape),
            "scale": np.tile(np.asarray(scales, float), cells.height),
            **dict.fromkeys(("centre", "spread", "heat", "calendar"), 1.0),
        }
    ).select(DRAWS.names()).cast(DRAWS)  # fmt: skip


def machines(count, model="M"):
    frame = pl.DataFrame({"unit": [f"{model}{n}" for n in range(count)]}).with_columns(
        model=pl.lit(model), batch=pl.lit("A"), set_no=1, parts=pl.lit("original"),
        failed_once=False,
        **{c: pl.lit(date(2012, 4, 23))
           for c in ("started", "started_earliest", "started_latest", "oldest_started")},
        last_known_working=pl.lit(AS_OF),
    )  # fmt: skip
    missing = [pl.lit(None).alias(c) for c in WORKING if c not in frame.columns]
    return frame.with_columns(missing).select(WORKING.names()).cast(WORKING)


def followed(*rows):
    return pl.DataFrame(
        rows, schema={"unit": pl.String, "days": pl.Float64, "share": pl.Float64}, orient="row"
    )


def counted(working, cells, draws, rows, **asked):
    shares = pl.DataFrame({"model": cells["model"].unique(), "prompt_share": 0.5})
    return followed_failures(working, cells, draws, shares, rows, as_of=AS_OF, **asked)


def test_constant_hazard_by_hand():
    """Hazard 1/1000 a day: days followed over 1000, by their shares, whatever came of them."""
    cells = cells_of("M")
    rows = followed(("M0", 700.0, 1.0), ("M1", 100.0, 0.25), ("M1", 700.0, 0.75), ("M2", 0.0, 1.0))
    got = counted(machines(5), cells, draws_of(cells, 1.0, [1000.0]), rows)
    assert got.schema == COUNTS
    assert got["model"].to_list() == [None, "M"]
    wanted = 0.7 + 0.025 + 0.525
    assert got["expected"].to_list() == pytest.approx([wanted, wanted])
    limits = [stats.poisson.ppf(q, wanted) for q in (0.05, 0.95)]  # scipy 1.17
    assert got.select("low", "high").row(1) == tuple(limits)


def test_cumulative_hazard_from_the_age_of_the_day():
    cells = cells_of("M")
    got = counted(machines(1), cells, draws_of(cells, 3.0, [6000.0]), followed(("M0", 500.0, 1.0)))
    wanted = (5500.0**3 - 5000.0**3) / 6000.0**3  # 5000 days old on the day
    assert got["expected"][1] == pytest.approx(wanted)


def test_doubt_widens_the_limits_and_models_are_added_up():
    cells = cells_of("M", "N")
    both = pl.concat([machines(40), machines(40, "N")])
    rows = followed(*[(u, 200.0, 1.0) for u in both["unit"]])
    sure = counted(both, cells, draws_of(cells, 1.0, [1000.0]), rows)
    doubt = counted(both, cells, draws_of(cells, 1.0, [500.0, 4000.0]), rows)
    assert sure["expected"].to_list() == pytest.approx([16.0, 8.0, 8.0])
    assert doubt["expected"].to_list() == pytest.approx([18.0, 9.0, 9.0])
    width = [one.select(pl.col("high") - pl.col("low")).to_series() for one in (sure, doubt)]
    assert (width[1] > width[0]).all()


def test_units_of_a_batch_nobody_knows_tell_of_it_themselves():
    """They lived to 5000 days, so of two draws the one of long lives is the likelier for them."""
    cells = cells_of("M")
    known = machines(1)
    unknown = known.with_columns(batch=pl.lit(None, pl.String))
    draws = draws_of(cells, 1.0, [1000.0, 4000.0])
    rows = followed(("M0", 100.0, 1.0))
    a, b = (counted(one, cells, draws, rows)["expected"][1] for one in (known, unknown))
    assert a == pytest.approx((0.1 + 0.025) / 2.0)
    likely = np.exp([-5.0, -1.25])
    assert b == pytest.approx((likely * [0.1, 0.025]).sum() / likely.sum())


def test_no_more_fail_than_there_are():
    cells = cells_of("M")
    rows = followed(*[(f"M{n}", 700.0, 1.0) for n in range(4)])
    got = counted(machines(4), cells, draws_of(cells, 4.0, [500.0]), rows).row(1, named=True)
    assert (got["expected"], got["high"]) == (4.0, 4.0)


def test_nobody_followed():
    cells = cells_of("M")
    got = counted(machines(2), cells, draws_of(cells, 1.0, [1000.0]), followed())
    assert got.is_empty()
    assert got.schema == COUNTS


def test_a_table_that_breaks_its_contract():
    cells = cells_of("M")
    with pytest.raises(BadFrame, match="followed"):
        counted(machines(2), cells, draws_of(cells, 1.0, [1.0]), pl.DataFrame({"unit": ["M0"]}))
