"""What is taken from the shelf before anything is bought.

METHODS: from-stock
"""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from fleet.errors import BadInput


def take_from_stock(
    wanted: pl.DataFrame, lots: pl.DataFrame, may_stand: pl.DataFrame
) -> pl.DataFrame:
    """Share out the pieces on the shelf so that what is still to be bought costs least.

    `wanted`: want (its id), pieces, worth (price of the piece that would be bought instead;
    null: nobody knows, counted as the dearest). `lots`: lot (its id), pieces. `may_stand`: lot,
    want, preference (whole number, 0 first: among ways that save the same). Returns lot, want,
    pieces, the rows with pieces above zero. A transport problem: exact, and whole by itself.
    Raises BadInput for pieces below zero.
    """
    if bool((wanted["pieces"] < 0).any()) or bool((lots["pieces"] < 0).any()):
        raise BadInput("pieces wanted or on the shelf are below zero; correct the stock record")
    pairs = (
        may_stand.join(wanted.filter(pl.col("pieces") > 0), on="want")
        .join(lots.filter(pl.col("pieces") > 0).rename({"pieces": "held"}), on="lot")
        .sort("want", "preference", "lot")
    )
    if pairs.is_empty():
        return may_stand.clear().select("lot", "want", pieces=pl.lit(0, dtype=pl.Int64))
    moved = _moved(pairs)
    return (
        pairs.select("lot", "want", pl.Series("pieces", moved))
        .filter(pl.col("pieces") > 0)
        .sort("want", "lot")
    )


def _moved(pairs: pl.DataFrame) -> NDArray[np.int64]:
    from scipy.optimize import LinearConstraint, milp
    from scipy.sparse import coo_array, vstack

    n = pairs.height
    rows = np.arange(n)
    wants = pairs["want"].rank("dense").to_numpy().astype(np.int64) - 1
    lots = pairs["lot"].rank("dense").to_numpy().astype(np.int64) - 1
    asked = pairs.sort("want").unique("want", maintain_order=True)["pieces"].to_numpy()
    held = pairs.sort("lot").unique("lot", maintain_order=True)["held"].to_numpy()
    dearest = float(pairs["worth"].fill_null(0.0).max() or 0.0) + 1.0  # type: ignore[arg-type]
    worth = pairs["worth"].fill_null(dearest).to_numpy()
    # A piece on the shelf is worth taking even where the one bought would cost nothing; order of
    # preference weighs less than the least difference in money.
    gain = worth + 1e-3 - 1e-6 * pairs["preference"].to_numpy()
    used = vstack(
        [
            coo_array((np.ones(n), (wants, rows)), shape=(asked.size, n)),
            coo_array((np.ones(n), (lots, rows)), shape=(held.size, n)),
        ]
    ).tocsr()
    found = milp(
        -gain,
        integrality=np.ones(n),
        constraints=LinearConstraint(used, 0, np.concatenate([asked, held])),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise RuntimeError(f"the solver ended without an answer: {found.message}")
    moved: NDArray[np.int64] = np.rint(found.x).astype(np.int64)
    return moved
