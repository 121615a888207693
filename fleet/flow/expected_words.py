"""Failures to expect, in sentences for somebody who buys the parts."""

import math
from collections.abc import Mapping
from typing import Any

import polars as pl

_MOST = 12  # models that get a sentence of their own
_WORTH_SAYING = 0.05  # machines


def model_words(models: pl.DataFrame) -> tuple[str, ...]:
    """One sentence for all models together and one for each, those of most failures first.

    Reads the table of models of `flow.expected.ExpectedAnswer`, or some rows of it.
    """
    if models.is_empty():
        return ("No machine is thought to be working whose chance of failing is known.",)
    every = models.filter(pl.col("model").is_null())
    each = models.drop_nulls("model").sort("expected", "model", descending=[True, False])
    said = [_of(row, f"In {row['model']}") for row in each.head(_MOST).iter_rows(named=True)]
    if each.height > 1 and every.height:
        said.insert(0, _of(every.row(0, named=True), "In all models together"))
    if each.height > _MOST:
        said.append(f"{each.height - _MOST:,} more models are in the table.")
    return tuple(said)


def _of(row: Mapping[str, Any], where: str) -> str:
    units = f"{row['units']:,} {'machine' if row['units'] == 1 else 'machines'}"
    dead = row["already_failed"]
    more = (
        f" About {tenths(dead)} more may have failed already without anybody knowing."
        if dead >= _WORTH_SAYING
        else ""
    )
    return (
        f"{where} {_about(row['expected'])} of {units} will fail by their capacitors from "
        f"{row['quarter_from']} to {row['quarter_to']} if nothing is done: "
        f"{between(row['low'], row['high'])}.{more} {_parts(row)}"
    )


def tenths(count: float) -> str:
    """A count of machines as spoken: tenths below ten."""
    return f"{count:.1f}".removesuffix(".0") if count < 9.95 else f"{count:,.0f}"


def _about(count: float) -> str:
    return "less than 0.1" if count < _WORTH_SAYING else f"about {tenths(count)}"


def _parts(row: Mapping[str, Any]) -> str:
    """Parts for the upper limit, and for those that have failed already."""
    dead = row["already_failed"]
    sets = math.ceil(row["high"] + (dead if dead >= _WORTH_SAYING else 0.0))
    if not sets:
        return "No parts need be kept."
    return f"Keep parts for {sets:,} {'machine' if sets == 1 else 'machines'}."


def between(low: float, high: float) -> str:
    """Limits of a count as spoken: "between 3 and 9", "most likely 2", "at most 1"."""
    if low == high:
        return f"most likely {low:,.0f}" if low else "most likely none"
    if low == 0:
        return f"at most {high:,.0f}"
    return f"between {low:,.0f} and {high:,.0f}"


def foot_words(models: pl.DataFrame, *, unknown: int, level: float, again: bool) -> tuple[str, ...]:
    """What the numbers rest on."""
    if models.is_empty():
        return _left_out(unknown)
    said = [
        f"Limits: in {100 * level:.4g} of 100 cases or more the number that fails lies between "
        "them. They hold what is not known of lives, and luck; not a change in how hot or how much "
        "the machines run.",
        "Counted are machines thought to work, each with the chance that it does. Parts to keep "
        "are for the upper limit and for those that have failed already without anybody knowing; "
        "machines that join later come on top.",
        "Parts that go in after a failure are counted too where they fail again (once)."
        if again
        else "A machine counts once: parts that go in after a failure and fail again are not "
        "counted.",
    ]
    return (*said, *_left_out(unknown))


def _left_out(unknown: int) -> tuple[str, ...]:
    if not unknown:
        return ()
    what = "machine is" if unknown == 1 else "machines are"
    return (
        f"{unknown:,} working {what} left out: nothing is known of the lives or the age of their "
        "parts.",
    )
