"""The prior in words, and how far the due list hangs on it.

METHODS: prior
"""

from collections.abc import Mapping

import polars as pl

from fleet.fits import Posterior, Prior
from fleet.flow.due_by_posterior import Asked, due_of_posterior
from fleet.flow.table import Table

FEWER, MORE = 1.0 / 3.0, 2.5  # times the share of models without wear-out that are tried
_MOST_UNITS = 20_000  # above this the due list is not worked out three times


def prior_words(prior: Prior) -> str:
    """What is held before any report, in one sentence."""
    wear, flat = prior.wear_out_shape[0], prior.no_wear_out_shape[0]
    return (
        f"Before any report counts, {_in_hundred(prior.no_wear_out_share)} models in 100 are taken "
        f"to fail at any age alike (shape around {flat:g}), the others to wear out (shape around "
        f"{wear:g}), with a typical life (scale) around {prior.scale_years[0]:g} years."
    )


def sensitivity(
    found: Posterior,
    frame: pl.DataFrame,
    table: Table,
    records: Mapping[str, pl.DataFrame],
    costs: pl.DataFrame,
    asked: Asked,
) -> str | None:
    """How many units would be due now with fewer or more models without wear-out; None where the
    store is too large to ask, or nothing has a best age.

    `frame` is the due list (frames.DUE) of `found`.
    """
    share = found.prior.no_wear_out_share
    if not 0.0 < share < 1.0 or not 0 < frame.height <= _MOST_UNITS or found.cells.is_empty():
        return None
    low, high = share * FEWER, min(0.9, share * MORE)
    due = [
        _due_now(due_of_posterior(found.with_share(other), table, records, costs, asked), asked)
        for other in (low, high)
    ]
    now = _due_now(frame, asked)
    others = f"With {_in_hundred(low)} or {_in_hundred(high)} such models in 100,"
    if due == [now, now]:
        return f"{others} {_as_many(now)} by today."
    return f"{others} {_count(due[0])} or {_units(due[1])} by today instead of {_count(now)}."


def _due_now(frame: pl.DataFrame, asked: Asked) -> int:
    return frame.filter(pl.col("due_on") <= pl.lit(asked.as_of)).height


def _count(count: int) -> str:
    return str(count) if count else "none"


def _units(count: int) -> str:
    one = "1 unit would have reached its date"
    return one if count == 1 else f"{count or 'no'} units would have reached their date"


def _as_many(count: int) -> str:
    few = {
        0: "no unit would have reached its date either",
        1: "1 unit would have reached its date as well",
    }
    return few.get(count, f"as many units ({count}) would have reached their date")


def _in_hundred(share: float) -> str:
    return f"{100.0 * share:.0f}" if share >= 0.01 else f"{100.0 * share:.2g}"
