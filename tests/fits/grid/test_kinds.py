"""Models with few failures borrow from their kind of appliance."""

import polars as pl
from polars.testing import assert_frame_equal

from fleet.fits import weibull_posterior


def _posterior(small, lives, *, year=1.0, draws=100, prior=None):
    return weibull_posterior(lives, year=year, prior=prior or small.prior, draws=draws)


def _named(small, lives, **options):
    return _posterior(small, lives, **options).named()


def _of(frame, model="BK3", parts="original", batch="K1"):
    mine = (pl.col("model") == model) & (pl.col("parts") == parts)
    return frame.filter(mine & pl.col("batch").eq_missing(pl.lit(batch, pl.String)))


def _kind(small, kind, *, few=2):
    """Three models with many failures, and one with few."""
    rich = [
        small.invented(60, shape=4.0, scale=8.0 + n, seed=20 + n, model=f"R{n}", kind=kind)
        for n in range(3)
    ]
    poor = small.invented(14, shape=4.0, scale=8.0, seed=30, model="P1", kind=kind, failures=few)
    return pl.concat([*rich, poor])


def test_a_model_with_few_failures_borrows_from_its_kind_and_says_so(small):
    alone, borrowed = (_posterior(small, _kind(small, kind)) for kind in (None, "amplifier"))
    flags = dict(borrowed.cells.select("model", "borrowed").unique().rows())
    assert flags == {"P1": True, "R0": False, "R1": False, "R2": False}
    assert not alone.cells["borrowed"].any()
    of_kind = borrowed.named().filter(pl.col("model").str.starts_with("R"))["centre"].log().mean()
    far, near = (
        abs(_of(f.named(), "P1")["centre"].log().mean() - of_kind) for f in (alone, borrowed)
    )
    assert near < 0.5 * far
    # models that lend are what they are without the one that borrows
    for model in ("R0", "R1", "R2"):
        frames = [f.named().filter(pl.col("model") == model) for f in (alone, borrowed)]
        assert_frame_equal(*frames, check_exact=True)


def test_two_models_at_the_least_lend(small):
    table = _kind(small, "amplifier").filter(~pl.col("model").is_in(["R1", "R2"]))
    assert not _posterior(small, table).cells["borrowed"].any()


def test_five_failures_are_enough_to_stand_alone(small):
    table = _kind(small, "amplifier", few=5)
    failed = table.filter((pl.col("model") == "P1") & pl.col("high").is_not_null())
    assert failed.height == 5
    assert not _posterior(small, table).cells["borrowed"].any()
