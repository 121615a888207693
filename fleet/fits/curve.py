"""Survival curves without a distribution: Kaplan-Meier where it can, Turnbull where it must."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.cells import find_cells
from fleet.fits.kaplan_meier import kaplan_meier, with_limits
from fleet.fits.rows import Floats, Rows, check_lives, cut_rows, group_codes
from fleet.fits.support import needed, watched
from fleet.fits.turnbull import npmle
from fleet.fits.weibull import check_level
from fleet.frames import CURVE

METHODS = ("auto", "km", "turnbull")


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class CurveResult:
    """`points`: group columns + frames.CURVE, by group and age. `notes`: what to know of them."""

    points: pl.DataFrame
    notes: tuple[str, ...]


def curve(
    lives: pl.DataFrame, *, by: Sequence[str] = (), level: float = 0.95, method: str = "auto"
) -> CurveResult:
    """Survival curve of each group with pointwise limits.

    `method`: "auto" takes Kaplan-Meier for groups whose rows are all exact or right-censored
    and not truncated from above, else Turnbull's estimate; "km" leaves the other rows out and
    counts them in the notes; "turnbull" takes it for every group. Survival holds just after
    `age`. The first row of a group is where watching begins, with the lives at risk just after
    it; the last row is where watching ends. Ages in the unit of `lives`. Raises BadFrame,
    BadInput.
    """
    check_level(level)
    if method not in METHODS:
        raise BadInput(f"there is no method {method}; choose {', '.join(METHODS)}")
    check_lives(lives, by)
    keys, codes = group_codes(lives, by)
    coded = lives.with_columns(_group=pl.Series(codes, dtype=pl.Int64))
    hard = pl.col("known_by").is_not_null() | (pl.col("high") > pl.col("low")).fill_null(
        value=False
    )
    notes: list[str] = []
    if method == "km":
        notes += _left_out(coded)
        coded = coded.filter(~hard)
    forced = pl.lit(method == "turnbull")
    coded = coded.with_columns(_turnbull=(hard | forced).any().over("_group"))
    easy, rest = coded.filter(~pl.col("_turnbull")), coded.filter("_turnbull")
    parts = [kaplan_meier(easy, level=level)]
    if not rest.is_empty():
        points, more = _turnbull(rest, keys, level)
        parts.append(points)
        notes += more
    columns = ["_group", *CURVE.names(), "collapsed", "most"]
    points = pl.concat([p.select(columns) for p in parts]).sort("_group", "age")
    notes += _advice(points, keys)
    named = points.select(CURVE.names())
    if keys.width:
        named = keys[points["_group"].to_list()].hstack(named)
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


def _turnbull(
    coded: pl.DataFrame, keys: pl.DataFrame, level: float
) -> tuple[pl.DataFrame, list[str]]:
    rows = cut_rows(coded, ("_group",))
    groups = rows.keys["_group"].to_list()
    only_failed, slow, parts = [], [], []
    for i, group in enumerate(groups):
        own = rows.take(i, i + 1)
        failed = ~np.isnan(own.high)
        if failed.any() and bool((~np.isnan(own.known_by[failed])).all()):
            only_failed.append(group)
            own = _kept(own, failed)
        if not failed.any():
            parts.append(_points(own, group, np.zeros(0), {}))
            continue
        cells = find_cells(own)
        fit = npmle(cells)
        if fit.excess > 1e-6:
            slow.append(group)
        parts.append(
            _points(
                own,
                group,
                cells.right,
                {
                    "failures": fit.failures,
                    "survival": fit.survival,
                    "cumulative_hazard": np.cumsum(fit.hazard),
                    "_variance": fit.variance,
                },
            )
        )
    points = with_limits(pl.concat(parts), level)
    seen = watched(coded.select(pl.exclude("_turnbull")), ("_group",)).select("_group", "last")
    points = points.join(seen, on="_group", how="left", maintain_order="left")
    gone = (pl.col("survival") == 0.0) & (
        pl.col("last") > pl.col("age").filter(pl.col("survival") == 0.0).min().over("_group")
    )
    points = points.with_columns(collapsed=gone.fill_null(value=False)).with_columns(
        supported=(pl.col("at_risk") >= needed(pl.col("most")) - 1e-9) & ~pl.col("collapsed")
    )
    notes = []
    if only_failed:
        notes.append(
            f"Every failure {_where(only_failed, keys)} is known only because it happened: the "
            "curve holds for lives that fail by its last age and says nothing of how many do."
        )
    if slow:
        notes.append(
            f"The curve {_where(slow, keys)} is not fully converged: its last digits may be off."
        )
    return points, notes


def _kept(own: Rows, keep: Floats) -> Rows:
    return Rows(
        keys=own.keys,
        starts=np.array([0, int(keep.sum())]),
        entry=own.entry[keep],
        low=own.low[keep],
        high=own.high[keep],
        known_by=own.known_by[keep],
        count=own.count[keep],
    )


def _points(own: Rows, group: int, ages: Floats, values: dict[str, Floats]) -> pl.DataFrame:
    """Rows of one group: where watching begins, the end of each cell, where watching ends."""
    end = np.where(np.isnan(own.high), own.low, own.high)
    begin, last = own.entry.min(), end.max()
    tail = bool(last > (ages[-1] if len(ages) else begin))
    grid = np.concatenate(([begin], ages, [last] if tail else []))
    enter, leave = np.argsort(own.entry), np.argsort(end)
    come = np.concatenate(([0.0], np.cumsum(own.count[enter])))
    go = np.concatenate(([0.0], np.cumsum(own.count[leave])))
    before = come[np.searchsorted(own.entry[enter], grid)] - go[np.searchsorted(end[leave], grid)]
    after = (
        come[np.searchsorted(own.entry[enter], grid, "right")]
        - go[np.searchsorted(end[leave], grid, "right")]
    )
    before[0] = after[0]
    defaults = {"failures": 0.0, "survival": 1.0, "cumulative_hazard": 0.0, "_variance": 0.0}
    columns: dict[str, Floats] = {}
    for name, at_start in defaults.items():
        given = values.get(name, np.zeros(0))
        carried = 0.0 if name == "failures" else (given[-1] if len(given) else at_start)
        columns[name] = np.concatenate(([at_start], given, [carried] if tail else []))
    # the most ever watched may be between two cells
    starts = own.entry[:, None] if len(own.entry) < 200 else grid[:, None]
    most = max(
        float(
            (
                come[np.searchsorted(own.entry[enter], starts, "right")]
                - go[np.searchsorted(end[leave], starts, "right")]
            ).max()
        ),
        float(before.max()),
    )
    return pl.DataFrame({"age": grid, "at_risk": before, **columns}).with_columns(
        _group=pl.lit(group, dtype=pl.Int64), most=pl.lit(most)
    )


def _advice(points: pl.DataFrame, keys: pl.DataFrame) -> list[str]:
    """Where few were watched early, or the curve fell to 0 with others still to come."""
    of_group = pl.col("_group")
    few = (pl.col("failures") > 0) & (pl.col("at_risk") < needed(pl.col("most")) - 1e-9)
    enough = pl.col("age").filter(pl.col("at_risk") >= needed(pl.col("most")) - 1e-9)
    told = points.group_by("_group", maintain_order=True).agg(
        collapsed=pl.col("collapsed").any(),
        zero=pl.col("age").filter(pl.col("survival") == 0.0).min(),
        start=enough.min(),
        early=few.filter(pl.col("age") < enough.min()).any(),
    )
    notes = []
    for row in told.filter(pl.col("collapsed") | pl.col("early")).sort(of_group)[:5].to_dicts():
        where = _where([row["_group"]], keys)
        if row["collapsed"]:
            words = (
                f"The curve {where} falls to 0 at age {row['zero']:g}, where the few at risk all "
                "failed, although others were watched later; it says nothing beyond."
            )
        else:
            words = f"The curve {where} rests on very few lives at its earliest failures."
        if row["start"] is not None:
            words += f" Read it as conditional on having reached age {row['start']:g}."
        notes.append(words)
    more = told.filter(pl.col("collapsed") | pl.col("early")).height - 5
    if more > 0:
        notes.append(f"The same holds for {more} further groups.")
    return notes


def _where(groups: Sequence[int], keys: pl.DataFrame) -> str:
    if not keys.width:
        return "of all lives"
    names = [" ".join(f"{c} {v}" for c, v in keys.row(g, named=True).items()) for g in groups[:3]]
    more = f" and {len(groups) - 3} more" if len(groups) > 3 else ""
    return f"of {', '.join(names)}{more}"
