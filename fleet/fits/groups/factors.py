"""Columns that may explain how long lives last, as a design matrix. METHODS: regression."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import polars as pl

from fleet.errors import BadFrame, BadInput
from fleet.fits.rows import Floats, group_codes

MOST_VALUES = 30  # of a column of names
MOST_GROUPS = 200  # kept apart


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """A column and how it is read.

    names: each value against the one with most lives. number: per `step` more (None: a round
    step about twice the column's spread). doubling: per doubling of a number above 0.
    """

    column: str
    reading: Literal["names", "number", "doubling"] = "number"
    step: float | None = None


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Term:
    """One column of the design: centred and scaled values; `times` turns its coefficient into
    the log of the ratio of lives for `per`.
    """

    column: str
    value: str | None
    per: str
    x: Floats
    times: float


def read_factors(lives: pl.DataFrame, wanted: Sequence["Factor | str"]) -> list[Factor]:
    """Factors as asked for; a bare name is read as numbers or names by its type."""
    if not wanted:
        raise BadInput("name the columns that may explain how long lives last")
    out = []
    for item in wanted:
        name = item if isinstance(item, str) else item.column
        if name not in lives.columns:
            raise BadFrame(f"the life table has no column {name} to explain lives by")
        numeric = lives.schema[name].is_numeric()
        if isinstance(item, str):
            item = Factor(column=name, reading="number" if numeric else "names")
        elif item.reading != "names" and not numeric:
            raise BadFrame(f"{name} holds text, not numbers; read it as names")
        out.append(item)
    return out


def make_terms(
    lives: pl.DataFrame, factors: Sequence[Factor], *, apart: Sequence[str] = ()
) -> list[Term]:
    """Terms of complete lives, first those that give each group of `apart` a scale of its own
    (their column is empty). BadInput for a column that is constant, has too many values, or
    tells only what those before it tell.
    """
    terms = _groups(lives, apart)
    basis: list[Floats] = [np.ones(lives.height) / np.sqrt(max(lives.height, 1))]
    for term in terms:
        _widen(basis, term.x)
    for factor in factors:
        named = factor.reading == "names"
        own = _names(lives, factor, apart) if named else [_number(lives, factor)]
        for term in own:
            if not _widen(basis, term.x):
                raise BadInput(
                    f"{factor.column} tells nothing beyond the columns before it: the lives do "
                    "not hold one fixed while the other changes; leave one of them out"
                )
            terms.append(term)
    return terms


def _widen(basis: list[Floats], x: Floats) -> bool:
    """Add the direction of `x` that is new to the orthonormal `basis`; False if there is none."""
    rest = x.copy()
    for _ in range(2):  # twice: rounding
        known = np.stack(basis)
        rest = rest - known.T @ (known @ rest)
    size = float(np.linalg.norm(rest))
    if size <= 1e-6 * float(np.linalg.norm(x)):
        return False
    basis.append(rest / size)
    return True


def _groups(lives: pl.DataFrame, apart: Sequence[str]) -> list[Term]:
    if not apart:
        return []
    keys, codes = group_codes(lives, apart)
    sizes = np.bincount(codes, minlength=keys.height)
    if keys.height > MOST_GROUPS:
        raise BadInput(
            f"{keys.height:,} groups by {', '.join(apart)} are too many to be kept apart; "
            "take fewer lives or fewer columns"
        )
    others = np.delete(np.arange(keys.height), int(np.argmax(sizes)))
    return [
        Term(column="", value=str(g), per="", x=(codes == g).astype(np.float64), times=1.0)
        for g in others
    ]


def _constant(column: str) -> BadInput:
    return BadInput(
        f"{column} is the same for every life whose columns are all known; leave it out"
    )


def _number(lives: pl.DataFrame, factor: Factor) -> Term:
    x = lives[factor.column].cast(pl.Float64).to_numpy()
    if not np.isfinite(x).all():
        raise BadFrame(f"{factor.column} holds values that are no finite numbers; correct them")
    doubling = factor.reading == "doubling"
    if doubling and (x <= 0.0).any():
        raise BadInput(f"{factor.column} holds values of 0 or less, which cannot be doubled")
    x = np.log2(x) if doubling else x
    spread = float(x.std())
    if spread <= 1e-9 * max(1.0, float(np.abs(x).max())):
        raise _constant(factor.column)
    step = 1.0 if doubling else factor.step or _round_step(2.0 * spread)
    per = "twice as much" if doubling else f"{step:g} more"
    return Term(
        column=factor.column, value=None, per=per, x=(x - x.mean()) / spread, times=step / spread
    )


def _round_step(size: float) -> float:
    """The largest of 1, 2, 5, 10, 20 ... (or 0.5, 0.2, ...) that is at most `size`."""
    power = 10.0 ** np.floor(np.log10(size))
    return float(power * max(m for m in (1.0, 2.0, 5.0) if m * power <= size * (1.0 + 1e-9)))


def _names(lives: pl.DataFrame, factor: Factor, apart: Sequence[str]) -> list[Term]:
    name = factor.column
    texts = lives.select(pl.col(name).cast(pl.String).alias("value"), "count", "high")
    failed = pl.col("high").is_not_null().any().alias("failed")
    sizes = texts.group_by("value").agg(pl.col("count").sum(), failed)
    # nothing is measured by a value without a failure: its lives may be endless
    order = sizes.sort(["failed", "count", "value"], descending=[True, True, False])
    values = order["value"].to_list()
    if len(values) < 2:
        raise _constant(name)
    if len(values) > MOST_VALUES:
        raise BadInput(
            f"{name} has {len(values)} different values, too many to explain lives by; "
            f"compare groups by it instead"
        )
    own = texts["value"]
    against = _references(lives, name, values, apart)
    return [
        Term(
            column=name,
            value=value,
            per=f"instead of {against[value]}",
            x=(own == value).to_numpy().astype(np.float64),
            times=1.0,
        )
        for value in values
        if against[value] != value
    ]


def _references(
    lives: pl.DataFrame, name: str, values: list[str], apart: Sequence[str]
) -> dict[str, str]:
    """The value each value is measured by: the first in `values` of those it can be compared
    with, through the groups kept apart that hold several of them.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    _, codes = group_codes(lives, apart)
    place = {value: k for k, value in enumerate(values)}
    own = lives[name].cast(pl.String).replace_strict(place, return_dtype=pl.Int64).to_numpy()
    size = len(values) + int(codes.max(initial=0)) + 1
    links = coo_array((np.ones(len(own)), (own, len(values) + codes)), shape=(size, size))
    _, member = connected_components(links, directed=False)
    first = {int(member[k]): value for k, value in reversed(list(enumerate(values)))}
    found = {value: first[int(member[k])] for k, value in enumerate(values)}
    if all(value == other for value, other in found.items()):
        raise BadInput(
            f"no group by {', '.join(apart)} holds more than one {name}; its effect cannot be told "
            "from theirs"
        )
    return found
