"""The posterior of shapes and batch scales, model by model: what the due list rests on.

METHODS: posterior, prior, stress, forgetting, kind
"""

from collections.abc import Callable, Hashable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
import polars as pl

from fleet.errors import BadFrame
from fleet.fits.grid.draw import Draws, draw, even_normal
from fleet.fits.grid.evidence import evidence_of
from fleet.fits.grid.settings import Sizes
from fleet.fits.grid.weigh import weigh
from fleet.fits.prior import Prior
from fleet.frames import CELLS, DRAWS, EVIDENCE, F, check_frame, empty_frame

Floats = npt.NDArray[np.float64]
_Job = tuple[pl.DataFrame, Prior]
_Fitted = tuple[pl.DataFrame, Draws]
# Lives of a model, what else its fit hangs on, and how to make it: gives the fit.
Again = Callable[[pl.DataFrame, Hashable, Callable[[], _Fitted]], _Fitted]

DRAWN = 200
_THREADS = 2
ENOUGH = 5.0  # failures from which on a model lends to its kind, and below which it borrows
_LENDERS = 2  # models of a kind that lend to the others, at the least
_LEAST_BETWEEN = 0.25  # standard deviation of log scales between models of a kind, at the least


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Posterior:
    """Cells (frames.CELLS) and their draws (frames.DRAWS); `draws` has the draws of a cell
    together, in the order of the cells. Ages in the unit of the lives.
    """

    cells: pl.DataFrame
    draws: pl.DataFrame
    prior: Prior

    def named(self) -> pl.DataFrame:
        """Draws with model, parts and batch in place of the cell's number; a null batch is one
        yet to be made.
        """
        named = pl.col("batch").is_not_null() | pl.col("to_come")
        names = self.cells.filter(named).select("cell", "model", "parts", "batch")
        return names.join(self.draws, on="cell", maintain_order="left").drop("cell")

    def with_share(self, share: float) -> "Posterior":
        """The same records seen with another share of models that do not wear out.

        Draws keep their places and are weighed anew by the ratio of the two priors of the shape.
        """
        prior = self.prior.with_share(share)
        log_shape = np.log(self.draws["shape"].to_numpy())
        ratio = np.exp(prior.log_shape(log_shape) - self.prior.log_shape(log_shape))
        draws = self.draws.with_columns(weight=self.draws["weight"] * pl.Series(ratio))
        total = pl.col("weight").sum().over("cell")
        draws = draws.with_columns(pl.col("weight") / total)
        return Posterior(cells=self.cells, draws=draws, prior=prior)


def weibull_posterior(
    lives: pl.DataFrame,
    *,
    year: float,
    prior: Prior | None = None,
    draws: int = DRAWN,
    sizes: Sizes | None = None,
    again: Again | None = None,
) -> Posterior:
    """Posterior draws for every model and each of its batches, original and replaced parts.

    `lives` are frames.EVIDENCE, `year` the length of a year in their unit of age. Cells without a
    batch stand for parts of a batch nobody knows, or of one to come. A model with fewer than
    five failures takes the place of its prior from the models of its kind that have more, where
    there are two of them or more; `borrowed` says so. `again`: asked for the fit of each model,
    by its lives and all else the fit hangs on; it may give the one made before from the same.
    Raises BadFrame for a table that breaks its contract.
    """
    check_frame(lives, EVIDENCE, name="evidence")
    if not (np.isfinite(year) and year > 0):
        raise BadFrame(f"a year is {year} units of age; it should be a number above zero")
    base, sizes = prior or Prior(), sizes or Sizes()
    groups = lives.partition_by("model", maintain_order=True)
    if not groups:
        return Posterior(cells=empty_frame(CELLS), draws=empty_frame(DRAWS), prior=base)

    def fit(job: _Job) -> _Fitted:
        def work() -> _Fitted:
            return _fit_model(*job, year=year, draws=draws, sizes=sizes)

        return work() if again is None else again(job[0], (job[1], year, draws, sizes), work)

    rich = [group for group in groups if _failures(group) >= ENOUGH]
    poor = [group for group in groups if _failures(group) < ENOUGH]
    fitted = _each(fit, [(group, base) for group in rich])
    lent = _lent_by_kind(fitted, base, year=year)
    fitted += _each(fit, [(group, lent.get(group["kind"][0], base)) for group in poor])
    return Posterior(
        cells=_cells(fitted, lent), draws=_draws([found for _, found in fitted]), prior=base
    )


def _failures(group: pl.DataFrame) -> float:
    return float(group["count"].filter(group["high"].is_not_null()).sum())


def _each(fit: Callable[[_Job], _Fitted], jobs: Sequence[_Job]) -> list[_Fitted]:
    if len(jobs) < 2 * _THREADS:
        return [fit(job) for job in jobs]
    with ThreadPoolExecutor(_THREADS) as pool:
        return list(pool.map(fit, jobs))


def _fit_model(
    lives: pl.DataFrame, prior: Prior, *, year: float, draws: int, sizes: Sizes
) -> tuple[pl.DataFrame, Draws]:
    """Cells of one model, those of parts nobody knows at the end, and their draws."""
    key = ["parts", "batch"]
    failed = pl.col("count").filter(pl.col("high").is_not_null()).sum()
    cells = (
        lives.group_by(key, maintain_order=True)
        .agg(
            lives=pl.col("count").sum(),
            failures=failed,
            oldest_age=pl.max_horizontal("low", "high").max(),
        )
        .sort("parts", "batch", nulls_last=True)
        .with_row_index("cell")
    )
    rows = lives.join(cells.select("cell", *key), on=key, how="left", nulls_equal=True)
    evidence = evidence_of(rows, cells=cells.height, origin=prior.scale_years[0] * year, year=year)
    renewed = (cells["parts"] == "replaced").to_numpy()
    weighed = weigh(evidence, renewed, prior, sizes)
    found, law, site = draw(weighed, draws), weighed.site_law, evidence.site
    sd = np.sqrt(found.spread**2 + np.array([[0.0], [prior.renewed_sd]]) ** 2)
    new = found.centre + sd * even_normal(2, draws)
    named = pl.concat(
        [cells.drop("cell").with_columns(to_come=pl.lit(value=False)), _to_come(cells)],
        how="diagonal_relaxed",
    ).with_columns(
        model=pl.lit(lives["model"][0], pl.String),
        kind=pl.lit(lives["kind"][0], pl.String),
        usual_c=pl.lit(site.usual_c),
        usual_hours=pl.lit(site.usual_hours),
        mean_c=pl.lit(law.mean_c if site.tells_heat else None, pl.Float64),
        sd_c=pl.lit(law.sd_c),
        mean_log_hours=pl.lit(law.mean_use if site.tells_use else None, pl.Float64),
        sd_log_hours=pl.lit(law.sd_use),
    )
    origin = np.log(evidence.origin)
    return named, replace(
        found,
        centre=found.centre + origin,
        log_scale=np.concatenate([found.log_scale, new]) + origin,
    )


def _to_come(cells: pl.DataFrame) -> pl.DataFrame:
    """One cell each of original and replaced parts yet to be made, with what is known of all."""
    every = cells.group_by("parts").agg(
        pl.col("lives", "failures").sum(), pl.col("oldest_age").max()
    )
    return (
        pl.DataFrame({"parts": ["original", "replaced"]})
        .join(every, on="parts", how="left", maintain_order="left")
        .with_columns(to_come=pl.lit(value=True))
    )


def _lent_by_kind(fitted: Sequence[_Fitted], base: Prior, *, year: float) -> dict[str, Prior]:
    """For each kind of appliance with two models or more, the prior of its other models.

    Median scale and shape are the means of the models' posterior means of the logs; the spread of
    scales is what lies between those means beyond their own uncertainty, and 0.25 at the least.
    """
    facts = pl.DataFrame(
        [
            {
                "kind": cells["kind"][0],
                "scale": float(found.centre.mean()),
                "variance": float(found.centre.var()),
                "shape": float(np.log(found.shape).mean()),
            }
            for cells, found in fitted
        ],
        schema={"kind": pl.String, "scale": F, "variance": F, "shape": F},
    ).drop_nulls("kind")
    kinds = (
        facts.group_by("kind")
        .agg(
            pl.len().alias("models"),
            pl.col("scale", "shape").mean(),
            between=pl.col("scale").var() - pl.col("variance").mean(),
        )
        .filter(pl.col("models") >= _LENDERS)
    )
    sd = base.wear_out_shape[1]
    return {
        row["kind"]: replace(
            base,
            scale_years=(
                float(np.exp(row["scale"]) / year),
                float(np.sqrt(max(row["between"], 0.0) + _LEAST_BETWEEN**2)),
            ),
            wear_out_shape=(float(np.exp(row["shape"])), sd),
        )
        for row in kinds.iter_rows(named=True)
    }


def _cells(fitted: Sequence[_Fitted], lent: Mapping[str, Prior]) -> pl.DataFrame:
    every = pl.concat([cells for cells, _ in fitted]).with_columns(
        pl.col("lives", "failures").fill_null(0.0),
        of_model=pl.col("failures").filter("to_come").sum().over("model"),
    )
    few = pl.col("of_model") < ENOUGH
    return (
        every.with_columns(borrowed=few & pl.col("kind").is_in(list(lent)).fill_null(value=False))
        .with_row_index("cell")
        .with_columns(pl.col("cell").cast(pl.Int64))
        .select(CELLS.names())
        .cast(CELLS)
    )


def _draws(found: Sequence[Draws]) -> pl.DataFrame:
    cells, draws = sum(len(one.log_scale) for one in found), found[0].shape.size
    repeats = [len(one.log_scale) for one in found]

    def each(name: str) -> Floats:
        rows = [getattr(one, name) for one in found]
        return np.repeat(np.stack(rows), repeats, axis=0).ravel()

    return pl.DataFrame(
        {
            "cell": np.repeat(np.arange(cells), draws),
            "draw": np.tile(np.arange(draws), cells),
            "weight": np.full(cells * draws, 1.0 / draws),
            "shape": each("shape"),
            "scale": np.exp(np.concatenate([one.log_scale.ravel() for one in found])),
            "centre": np.exp(each("centre")),
            "spread": each("spread"),
            "heat": each("strength"),
            "calendar": each("calendar"),
        },
        schema=DRAWS,
    )
