"""Survival to an age, and the chance to fail within a span, from Weibull fits. METHODS: chances."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.region import weibull_region
from fleet.fits.roots import normal_quantile
from fleet.fits.rows import Cut, Floats, Ints, cut_groups, with_keys
from fleet.fits.solver.batch import blocks_of, on_all_processors
from fleet.fits.solver.packed import pack
from fleet.fits.solver.paths import LogHazard
from fleet.fits.solver.profile_bounds import want
from fleet.fits.solver.quick import solve_quickly
from fleet.fits.solver.quick_edges import look_at_edges
from fleet.fits.weibull import check_level, fit_weibull


def weibull_chances(
    lives: pl.DataFrame,
    spans: Sequence[tuple[float, float]],
    *,
    by: Sequence[str] = (),
    level: float = 0.95,
) -> pl.DataFrame:
    """Chance that a life which has reached one age fails by another, with profile limits.

    ``1 - exp(H(since) - H(until))`` of each group's Weibull fit for each (since, until) of
    `spans`, in the unit of the ages; since 0 gives one less the survival to `until`. Returns
    `by` + since, until, chance, chance_low, chance_high, one row for each group and span; null
    where there is no estimate, a limit null where the lives do not bound it. Raises BadFrame,
    BadInput.
    """
    check_level(level)
    for since, until in spans:
        if not 0.0 <= since < until < np.inf:
            raise BadInput(
                f"from age {since:g} to {until:g} is no span; give an age of 0 or more and a "
                "later one"
            )
    cut = cut_groups(lives, by)
    begin, end = np.array(spans, dtype=np.float64).reshape(-1, 2).T
    # log hazards: estimate, lower, upper; (3, spans, groups)
    out = np.full((3, len(spans), len(cut.starts) - 1), np.nan)

    def solve(groups: Ints) -> Ints:
        return _solve_block(cut, groups, begin, end, level, out)

    odd = np.sort(
        np.concatenate([np.zeros(0, np.int64), *on_all_processors(solve, blocks_of(cut))])
    )
    if len(odd):
        _solve_odd(cut, odd, begin, end, level, out)
    groups, many = out.shape[2], len(spans)
    chance = -np.expm1(-np.exp(out)).transpose(0, 2, 1).reshape(3, -1)
    frame = pl.DataFrame(
        {
            "since": np.tile(begin, groups),
            "until": np.tile(end, groups),
            "chance": chance[0],
            "chance_low": chance[1],
            "chance_high": chance[2],
        }
    ).with_columns(pl.exclude("since", "until").fill_nan(None))
    keys = cut.keys[np.repeat(np.arange(groups), many)] if cut.keys.width else cut.keys
    return with_keys(keys, frame)


def _solve_block(
    cut: Cut, groups: Ints, since: Floats, until: Floats, level: float, out: Floats
) -> Ints:
    rows = cut.rows(groups)
    edges, packed = look_at_edges(rows), pack(rows)
    quick = np.flatnonzero(edges.ordinary & ~packed.narrow)
    if not len(quick):
        return groups
    some = packed.take(quick)
    with np.errstate(divide="ignore"):
        early, late = np.log(since)[:, None] - some.log_top, np.log(until)[:, None] - some.log_top
    wanted = want(LogHazard(early=_padded(early), late=_padded(late)), len(since))
    z = normal_quantile(0.5 + level / 2.0)
    own, left = np.arange(len(quick)), groups
    for patience in (0.0, 1.0):
        solved = solve_quickly(some.take(own), own, wanted.take(own), z, patience=patience)
        got = solved.groups
        path, b = LogHazard(early=early[:, got], late=late[:, got]), np.exp(solved.u)
        done = groups[quick[got]]
        out[0][:, done] = path.value(b, -b * solved.a)
        out[1][:, done], out[2][:, done] = solved.limits[2::2], solved.limits[3::2]
        left, own = np.setdiff1d(left, done), np.setdiff1d(own, got)
        if not len(own):
            break
    return left


def _padded(ages: Floats) -> Floats:
    """Two rows for the limits of the shape, which need some age, then two for each span."""
    return np.concatenate([ages[:1], ages[:1], np.repeat(ages, 2, axis=0)])


def _solve_odd(
    cut: Cut, odd: Ints, since: Floats, until: Floats, level: float, out: Floats
) -> None:
    """Groups that need a careful search: the range over the edge of their likelihood region."""
    rows = cut.rows(odd)
    lives = pl.DataFrame(
        {
            "entry": rows.entry,
            "low": rows.low,
            "high": rows.high,
            "known_by": rows.known_by,
            "count": rows.count,
            "_group": np.repeat(odd, np.diff(rows.starts)),
        }
    ).with_columns(pl.col("high", "known_by").fill_nan(None))
    fits = fit_weibull(lives, by=["_group"], level=level)
    edge = weibull_region(lives, by=["_group"], level=level)
    with np.errstate(divide="ignore"):
        early, late = np.log(since), np.log(until)

    def hazards(frame: pl.DataFrame) -> Floats:
        b, scale = (frame[c].to_numpy()[None] for c in ("shape", "scale"))
        path = LogHazard(early=early[:, None], late=late[:, None])
        return path.value(b, -b * np.log(scale))

    there = fits.filter("exists")
    out[0][:, there["_group"].to_numpy()] = hazards(there)
    for (group,), part in edge.partition_by("_group", as_dict=True).items():
        values, is_open = hazards(part), part["open"].to_numpy()
        for side, best in ((1, values.argmin(axis=1)), (2, values.argmax(axis=1))):
            # an extreme where the region was cut off is no limit
            limit = np.take_along_axis(values, best[:, None], axis=1)[:, 0]
            out[side][:, group] = np.where(is_open[best], np.nan, limit)
