"""Survival curves without a distribution: Kaplan-Meier where it can, Turnbull where it must."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.curves.curve_notes import ADVISED, advice
from fleet.fits.curves.kaplan_meier import kaplan_meier
from fleet.fits.curves.turnbull_points import turnbull_points
from fleet.fits.rows import check_lives, group_codes
from fleet.fits.weibull import check_level
from fleet.frames import CURVE, LIFE

METHODS = ("auto", "km", "turnbull")


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class CurveResult:
    """`points`: group columns + frames.CURVE, by group and age. `notes`: what to know of them."""

    points: pl.DataFrame
    notes: tuple[str, ...]


def curve(
    lives: pl.DataFrame,
    *,
    by: Sequence[str] = (),
    level: float = 0.95,
    method: str = "auto",
    unit: str | None = None,
) -> CurveResult:
    """Survival curve of each group with pointwise limits.

    `method`: "auto" takes Kaplan-Meier for groups whose rows are all exact or right-censored
    and not truncated from above, else Turnbull's estimate; "km" leaves the other rows out and
    counts them in the notes; "turnbull" takes it for every group. Survival holds just after
    `age`. The first row of a group is where watching begins, with the lives at risk just after
    it; the last row is where watching ends. Survival is null where several curves fit equally
    well. Ages in the unit of `lives`, which the notes call `unit`. Raises BadFrame, BadInput.
    """
    check_level(level)
    if method not in METHODS:
        raise BadInput(f"there is no method {method}; choose {', '.join(METHODS)}")
    check_lives(lives, by)
    keys, codes = group_codes(lives, by)
    coded = lives.select(LIFE.names()).with_columns(_group=pl.Series(codes, dtype=pl.Int64))
    hard = (coded["known_by"].is_not_null() | (coded["high"] > coded["low"])).fill_null(value=False)
    notes: list[str] = []
    if method == "km" and hard.any():
        notes += _left_out(coded)
        coded, hard = coded.filter(~hard), hard.filter(~hard)
    parts = []
    if method == "turnbull" or hard.any():
        closed = np.bincount(coded["_group"].to_numpy(), weights=hard.to_numpy())
        needs = pl.Series((closed > 0) | (method == "turnbull"))[coded["_group"]]
        rest, coded = coded.filter(needs), coded.filter(~needs)
        if not rest.is_empty():
            points, notes_of_rest = turnbull_points(rest, keys, level=level, unit=unit)
            parts, notes = [points], notes + notes_of_rest
    parts.append(kaplan_meier(coded, level=level))
    points = pl.concat([p.select("_group", *CURVE, *ADVISED) for p in parts])
    if len(parts) > 1:
        points = points.sort("_group", "age", maintain_order=True)
    notes += advice(points, keys, unit)
    named = points.select(CURVE.names())
    if keys.width:
        named = keys[points["_group"]].hstack(named)
    return CurveResult(points=named, notes=tuple(notes))


def _left_out(coded: pl.DataFrame) -> list[str]:
    known = coded.filter(pl.col("known_by").is_not_null())["count"].sum()
    closed = coded.filter(
        pl.col("known_by").is_null() & (pl.col("high") > pl.col("low")).fill_null(value=False)
    )["count"].sum()
    notes = []
    if known:
        notes.append(
            f"Kaplan-Meier cannot take lives known only because they failed: {known:g} left out."
        )
    if closed:
        notes.append(
            f"Kaplan-Meier cannot take failures known only to lie in an interval: {closed:g} left "
            "out, so the curve is too high."
        )
    return notes
