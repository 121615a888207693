"""The due list a few models at a time, so that a report on one leaves the others as they are.

Nothing in the list of a model hangs on another model once the posterior is there: what a kind lends
is in its draws. While answers are kept, models of which nothing changed are not reckoned anew.
"""

from concurrent.futures import ThreadPoolExecutor

import polars as pl

from fleet.flow.due_by_posterior import Asked, Inputs, due_of_inputs
from fleet.flow.kept import fingerprint, part

_THREADS = 2
_TOGETHER = 1_000  # units at least in a part: each part costs some hundredths of a second by itself


def due_by_parts(inputs: Inputs, asked: Asked) -> pl.DataFrame:
    """The due list (frames.DUE) of all models; the same as of all at once."""
    from fleet.decisions.unit_dates import most_urgent_first

    with ThreadPoolExecutor(_THREADS) as pool:  # numpy lets go of the interpreter in long loops
        lists = list(pool.map(lambda cut: _part(cut, asked), _cut(inputs)))
    if len(lists) < 2:
        return lists[0] if lists else due_of_inputs(inputs, asked)
    return most_urgent_first(pl.concat(lists))


def _part(cut: Inputs, asked: Asked) -> pl.DataFrame:
    print_of = fingerprint(cut.working, cut.cells, cut.draws, cut.costs, cut.shares)
    return part("due", (print_of, asked), lambda: due_of_inputs(cut, asked))


def _cut(inputs: Inputs) -> list[Inputs]:
    """The same frames cut into parts of whole models, in the order of their names."""
    counts = inputs.working.group_by("model").agg(pl.len().alias("_units")).sort("model")
    # A part is full with its thousandth unit, so that where it ends hangs on those before only.
    place = counts.select(
        "model", _part=(pl.col("_units").cum_sum() - pl.col("_units")) // _TOGETHER
    )
    return [_only(inputs, models) for (_,), models in place.group_by("_part", maintain_order=True)]


def _only(inputs: Inputs, models: pl.DataFrame) -> Inputs:
    def mine(frame: pl.DataFrame) -> pl.DataFrame:
        return frame.join(
            models.select("model"), on="model", how="semi", nulls_equal=True, maintain_order="left"
        )

    cells = mine(inputs.cells)
    numbers = cells.select("cell").with_row_index("_new")
    draws = inputs.draws.join(numbers, on="cell", how="inner", maintain_order="left")
    return Inputs(
        working=mine(inputs.working),
        cells=cells.with_columns(cell=pl.int_range(pl.len(), dtype=pl.Int64)),
        draws=draws.with_columns(cell=pl.col("_new").cast(pl.Int64)).drop("_new"),
        costs=mine(inputs.costs).sort("model"),
        shares=mine(inputs.shares).sort("model"),
    )
