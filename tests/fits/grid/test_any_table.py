"""Whatever the table, the posterior is one of lives: finite numbers, no warnings."""

import numpy as np
import polars as pl
from hypothesis import given
from hypothesis import strategies as st

from fleet.fits import Prior, weibull_posterior
from fleet.fits.grid.settings import Sizes
from fleet.frames import CELLS, DRAWS, EVIDENCE, check_frame

AGE = st.floats(0.01, 45.0).map(lambda x: round(x, 3))
MAYBE = st.booleans()


@st.composite
def _row(draw):
    entry, span = draw(st.one_of(st.just(0.0), AGE)), draw(AGE)
    row = {
        "entry": entry,
        "low": entry + span,
        "count": draw(st.sampled_from([0.25, 1.0, 7.0, 400.0])),
        "parts": draw(st.sampled_from(["original", "replaced"])),
        "batch": draw(st.sampled_from(["K1", "K2", None])),
        "model": draw(st.sampled_from(["BK3", "ZR1"])),
        "kind": draw(st.sampled_from([None, "radio"])),
        "ambient_c": draw(st.one_of(st.none(), st.floats(-20.0, 80.0))),
        "hours_per_year": draw(st.one_of(st.none(), st.just(0.0), st.floats(1.0, 8766.0))),
    }
    kind = draw(st.sampled_from(["good", "exact", "interval", "first look"]))
    if kind == "first look":
        row["low"], row["high"] = entry, entry + span
    elif kind != "good":
        row["high"] = row["low"] + (draw(AGE) if kind == "interval" else 0.0)
    if kind != "good" and draw(MAYBE):
        row["known_by"] = row["high"] + draw(st.one_of(st.just(0.0), AGE))
        row["forgetful"] = draw(MAYBE)
    elif kind != "good" and draw(MAYBE):
        row["other_low"] = row["high"] + draw(st.one_of(st.just(0.0), AGE))
        row["other_chance"] = draw(st.floats(1e-6, 0.9))
    return row


@given(rows=st.lists(_row(), min_size=1, max_size=8))
def test_whatever_the_table_every_draw_is_a_life(rows):
    base = {name: None for name in EVIDENCE} | {"forgetful": False}
    lives = pl.DataFrame([base | row for row in rows], schema=EVIDENCE)
    sizes = Sizes(rough=(8, 10, 14, 3), fine=(9, 12, 16, 3))
    prior = Prior(
        no_wear_out_share=0.15,
        no_wear_out_shape=(1.1, 0.25),
        wear_out_shape=(3.5, 0.35),
        scale_years=(15.0, 0.5),
        spread=0.3,
        renewed_sd=0.4,
        heat=(1.0, 0.4),
        idle_share=0.2,
    )
    found = weibull_posterior(lives, year=1.0, prior=prior, draws=20, sizes=sizes)
    check_frame(found.cells, CELLS, name="cells")
    check_frame(found.draws, DRAWS, name="draws")
    assert found.draws.null_count().sum_horizontal().item() == 0
    numbers = found.draws.select("shape", "scale", "centre").to_numpy()
    assert np.isfinite(numbers).all()
    assert (numbers > 0.0).all()
    assert found.draws["spread"].min() >= 0.0
    assert found.draws["calendar"].is_between(0.0, 1.0).all()
