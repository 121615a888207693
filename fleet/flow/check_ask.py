"""Which machines to ask after first: those whose state would tell the fit most.

METHODS: ask-first. A machine last seen at age a0 and now of age a1 either works or has failed in
between. With H the fitted cumulative hazard, q = 1 - exp(H(a0) - H(a1)) and G the slope of
H(a1) - H(a0) in (log scale, log shape), hearing of it adds, on average over both answers,
``G G' (1 - q) / q`` to the information on the fit: the variance of the score of that answer.
"""

from dataclasses import dataclass, replace
from datetime import date

import numpy as np
import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.flow.check_effects import Baseline, chosen_lives, narrowing

MOST = 12  # machines named at a time
SILENT_YEARS = 2.0  # a machine seen working within it is not asked after; our own choice
_SURE = np.log(1e6)  # log hazard at which a machine has failed for certain
_LARGEST = 300.0  # added hazard beyond which an answer is known beforehand
_LOG_TENTH = float(np.log(-np.log(0.9)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """Machines to ask after, the best first; what that would do to the B10 of `model`, in days.

    `effect`: how much nearer limits would come if all silent machines were asked after, as a
    share, for model `whose`; null where no fit exists.
    """

    units: tuple[str, ...]
    model: str | None
    effect: float | None
    low: float | None
    high: float | None
    low_then: float | None
    high_then: float | None
    whose: str | None = None


def machines_to_ask(base: Baseline, *, as_of: date, most: int = MOST) -> Ask | None:
    """At most `most` silent machines on original parts; None where none is silent."""
    silent = _silent(base, as_of)
    if silent.is_empty():
        return None
    parts = []
    chosen: dict[str, np.ndarray] = {}
    for (model,), own in silent.group_by("model", maintain_order=True):
        gain = _gains(base, str(model), own)
        if gain is None:
            # no fit: the longest silent first, after those that tell a fit something
            parts.append(own.with_columns(worth=pl.lit(0.0)))
            continue
        worth, inside, information = gain
        chosen[str(model)] = information
        parts.append(own.with_columns(worth=pl.Series(worth)).hstack(inside))
    every = pl.concat(parts, how="diagonal").sort(
        ["worth", "last_known_working", "unit"], descending=[True, False, False], nulls_last=True
    )
    of_all = _told(base, every, chosen)
    named = _told(base, every.head(most), chosen)
    return replace(named, effect=of_all.effect, whose=of_all.model)


def _silent(base: Baseline, as_of: date) -> pl.DataFrame:
    since = (pl.lit(as_of) - pl.col("last_known_working")).dt.total_days()
    age = (pl.lit(as_of) - pl.col("started")).dt.total_days().cast(pl.Float64)
    seen = (pl.col("last_known_working") - pl.col("started")).dt.total_days().cast(pl.Float64)
    return (
        base.table.working.filter((pl.col("parts") == "original") & ~pl.col("failed_once"))
        .with_columns(now=age, seen=seen.clip(lower_bound=0.0), since=since)
        .filter((pl.col("since") > SILENT_YEARS * DAYS_PER_YEAR) & (pl.col("now") > pl.col("seen")))
        .sort("model", "unit")
    )


def _gains(
    base: Baseline, model: str, silent: pl.DataFrame
) -> tuple[np.ndarray, pl.DataFrame, np.ndarray] | None:
    """What each machine would bring by itself, the parts of its information, and the information
    there is. Worth is the share of the variance of log B10 it takes away, weighed by how wide
    its limits are, or how far they are from being of use.
    """
    from fleet.fits.groups.life_ages import ages_of
    from fleet.fits.groups.scale_model import Columns, ScaleModel

    fit = base.fits.filter((pl.col("model") == model) & pl.col("exists")).to_dicts()
    if not fit or fit[0]["scale"] is None:
        return None
    shape, scale = fit[0]["shape"], fit[0]["scale"]
    lives = chosen_lives(base.table).filter(pl.col("model") == model)
    design = Columns(matrix=np.ones((lives.height, 1)))
    likelihood = ScaleModel(ages_of(lives), lives["count"].to_numpy(), design)
    information = -likelihood.slopes(np.array([np.log(scale), np.log(shape)]))[2]
    if not (np.linalg.eigvalsh(information) > 0.0).all():
        return None
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = [np.log(silent[name].to_numpy() / scale) for name in ("seen", "now")]
        log_hazard = [np.minimum(shape * x, _SURE) for x in logs]
        hazard = [np.exp(x) for x in log_hazard]
        turn = [np.where(h > 0.0, x * h, 0.0) for x, h in zip(log_hazard, hazard, strict=True)]
    step = hazard[1] - hazard[0]
    weight = 1.0 / np.expm1(np.clip(step, 1e-12, _LARGEST))
    slope = np.stack([-shape * step, turn[1] - turn[0]])
    toward = np.array([1.0, -_LOG_TENTH / shape])
    pull = toward @ np.linalg.solve(information, slope)
    inside = pl.DataFrame(
        {
            "scale_scale": weight * slope[0] ** 2,
            "scale_shape": weight * slope[0] * slope[1],
            "shape_shape": weight * slope[1] ** 2,
        }
    )
    variance = float(toward @ np.linalg.solve(information, toward))
    half = base.half.get(model, 1.0)
    useful = min(half, 1.0 / half) ** 2
    return weight * pull**2 / variance * useful, inside, information


def _told(base: Baseline, asked: pl.DataFrame, chosen: dict[str, np.ndarray]) -> Ask:
    names = tuple(asked["unit"].to_list())
    best: tuple[float, str, float, float] | None = None
    for model, information in chosen.items():
        own = asked.filter(pl.col("model") == model)
        if own.is_empty():
            continue
        a, b, c = (float(own[n].sum()) for n in ("scale_scale", "scale_shape", "shape_shape"))
        shape = float(base.fits.filter(pl.col("model") == model)["shape"][0])
        toward = np.array([1.0, -_LOG_TENTH / shape])
        before = float(toward @ np.linalg.solve(information, toward))
        after = float(toward @ np.linalg.solve(information + np.array([[a, b], [b, c]]), toward))
        gain = narrowing(base.half.get(model, 1.0), float(np.sqrt(after / before)))
        if best is None or gain > best[0]:
            best = (gain, model, float(np.sqrt(before)), float(np.sqrt(after)))
    if best is None:
        return Ask(units=names, model=None, effect=None, low=None, high=None, low_then=None,
                   high_then=None)  # fmt: skip
    gain, model, before, after = best
    row = base.fits.filter(pl.col("model") == model).row(0, named=True)
    share = after / before

    def nearer(limit: float | None) -> float | None:
        return None if limit is None else float(row["b10"] * (limit / row["b10"]) ** share)

    return Ask(
        units=names,
        model=model,
        effect=gain,
        low=row["b10_low"],
        high=row["b10_high"],
        low_then=nearer(row["b10_low"]),
        high_then=nearer(row["b10_high"]),
    )
