"""Lives with sets of suspects, checked and laid out. METHODS: masked-causes."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadFrame
from fleet.fits.rows import Floats, Mask, check_lives

_NAMES = pl.List(pl.String())
_WEIGHTS = pl.List(pl.Float64())


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class MaskedRows:
    """Rows of one group, ages in parts of `unit`, and what each says of each column.

    A column is a position, or several that no row tells apart (`names` joins them by ;, `sizes`
    counts them). `at_risk`, `weight`: (rows, columns); weights are 0 where a column is no
    suspect or nothing failed. `high`, `known_by`: NaN where there is none.
    """

    names: tuple[str, ...]
    sizes: Floats
    unit: float
    entry: Floats
    low: Floats
    high: Floats
    known_by: Floats
    count: Floats
    at_risk: Mask
    weight: Floats

    @property
    def failed(self) -> Mask:
        """Which rows are failures."""
        return np.asarray(~np.isnan(self.high))

    @property
    def whole(self) -> Mask:
        """Rows in which every column was watched; all rows where there is none."""
        whole: Mask = np.asarray(self.at_risk.all(axis=1))
        return whole if whole.any() else np.ones(whole.shape, dtype=np.bool_)


def read_masked(lives: pl.DataFrame, positions: Sequence[str] | None) -> MaskedRows:
    """Check `lives` (see `fits.fit_causes`) and lay them out; raises BadFrame."""
    check_lives(lives, ())
    for column, dtype in (("candidates", _NAMES), ("weights", _WEIGHTS), ("at_risk", _NAMES)):
        told = lives.schema.get(column)
        if told is not None and told != dtype:
            raise BadFrame(f"column {column} of the life table is {told}, it should be {dtype}")
    if "candidates" not in lives.columns:
        raise BadFrame("the life table has no column candidates; name the suspects of each failure")
    names = _names(lives, positions)
    place = {name: i for i, name in enumerate(names)}
    failed = lives["high"].is_not_null().to_numpy()
    at_risk = _members(lives, "at_risk", place) > 0
    at_risk[_blank(lives, "at_risk")] = True
    weight = _members(lives, "candidates", place)
    weight[~failed] = 0.0
    unsaid = failed & _blank(lives, "candidates")
    weight[unsaid] = at_risk[unsaid]
    _check(failed, at_risk, weight)
    entry, low, high, known, count = (
        lives[c].to_numpy() for c in ("entry", "low", "high", "known_by", "count")
    )
    ages = np.concatenate([entry, low, high, known])
    top = float(np.nanmax(ages)) if len(ages) else 1.0
    unit = top if top > 0.0 else 1.0
    columns, sizes, first = _together(names, at_risk, weight)
    return MaskedRows(
        names=columns,
        sizes=sizes,
        unit=unit,
        entry=entry / unit,
        low=low / unit,
        high=high / unit,
        known_by=known / unit,
        count=count,
        at_risk=at_risk[:, first],
        weight=weight[:, first],
    )


def _names(lives: pl.DataFrame, positions: Sequence[str] | None) -> list[str]:
    if positions is not None:
        return list(dict.fromkeys(positions))
    listed = [lives[c].explode() for c in ("candidates", "at_risk") if c in lives.columns]
    return sorted(pl.concat([names.alias("name") for names in listed]).drop_nulls().unique())


def _blank(lives: pl.DataFrame, column: str) -> Mask:
    if column not in lives.columns:
        return np.ones(lives.height, dtype=bool)
    return lives[column].is_null().to_numpy()


def _members(lives: pl.DataFrame, column: str, place: dict[str, int]) -> Floats:
    """(rows, positions): the weight of each position that a row lists, 1 without weights."""
    out = np.zeros((lives.height, len(place)))
    if column not in lives.columns:
        return out
    listed = lives.select(name=column).with_row_index("row")
    if column == "candidates" and "weights" in lives.columns:
        listed = listed.with_columns(weight=lives["weights"])
        uneven = listed.filter(pl.col("weight").list.len() != pl.col("name").list.len())
        if uneven.height:
            raise BadFrame(
                f"row {uneven['row'][0] + 1} of the life table has not one weight for each suspect"
            )
        plain = listed.filter(pl.col("weight").is_null()).drop("weight")
        listed = listed.drop_nulls("weight").explode("name", "weight")
        plain = plain.explode("name").with_columns(weight=pl.lit(1.0))
        listed = pl.concat([listed, plain])
    else:
        listed = listed.explode("name").with_columns(weight=pl.lit(1.0))
    listed = listed.drop_nulls("name")
    strange = listed.filter(~pl.col("name").is_in(list(place)))
    if strange.height:
        row, name = strange.row(0)[:2]
        raise BadFrame(f"row {row + 1} of the life table names {name}, which is no position here")
    where = listed["name"].replace_strict(place, return_dtype=pl.Int64).to_numpy()
    out[listed["row"].cast(pl.Int64).to_numpy(), where.astype(np.int64)] = (
        listed["weight"].fill_null(0.0).to_numpy()
    )
    return out


def _check(failed: Mask, at_risk: Mask, weight: Floats) -> None:
    faults = (
        (
            ~np.isfinite(weight).all(axis=1) | (weight < 0.0).any(axis=1),
            "has a weight that is not a number of 0 or more",
        ),
        (
            failed & ~(weight > 0.0).any(axis=1),
            "is a failure without a suspect; leave candidates empty where nothing is known",
        ),
        (
            ((weight > 0.0) & ~at_risk).any(axis=1),
            "suspects a position that is not among those watched (at_risk)",
        ),
        (~at_risk.any(axis=1), "watches no position; leave at_risk empty for all of them"),
    )
    for bad, words in faults:
        if bad.any():
            raise BadFrame(f"row {int(bad.argmax()) + 1} of the life table {words}")


def _together(
    names: Sequence[str], at_risk: Mask, weight: Floats
) -> tuple[tuple[str, ...], Floats, list[int]]:
    """Positions that every row treats alike made one column, unless no row suspects them."""
    groups: dict[bytes, list[int]] = {}
    for i, name in enumerate(names):
        key = weight[:, i].tobytes() + at_risk[:, i].tobytes()
        own = key if weight[:, i].any() else name.encode() + b"/never"
        groups.setdefault(own, []).append(i)
    members = list(groups.values())
    return (
        tuple(";".join(names[i] for i in group) for group in members),
        np.array([float(len(group)) for group in members]),
        [group[0] for group in members],
    )
