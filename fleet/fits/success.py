"""The chance that the next recap of a model succeeds. METHODS: success."""

from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadFrame, BadInput
from fleet.fits.rows import Floats
from fleet.frames import check_frame

# What `success_chances` reads.
COUNTS = pl.Schema(
    {
        "model": pl.String(),
        "kind": pl.String(),  # of appliance; null: unknown, like no other
        "jobs": pl.Int64(),  # of whose outcome something is known
        "cured": pl.Int64(),  # of those, how many succeeded
    }
)
_CELLS = 64  # steps of means, of the store and of a kind
_NEGLIGIBLE = 1e-6  # weight of a component of a mixture that is left out
_HALVINGS = 25


@dataclass(frozen=True, slots=True)
class SuccessPrior:
    """What is held before any job. Our own choices, no source.

    `store`: the mean chance over all kinds is Beta(a, b); Beta(8, 2) is eight successes in ten
    jobs. `kinds`, `models`: how alike the kinds are, and the models of a kind, each as the number
    of jobs that knowing the others is worth; every number is held as likely as the next.
    """

    store: tuple[float, float] = (8.0, 2.0)
    kinds: tuple[float, ...] = (10.0, 40.0)
    models: tuple[float, ...] = (10.0, 40.0)

    def __post_init__(self) -> None:
        """Raise BadInput for what is no prior."""
        for numbers in (self.store, self.kinds, self.models):
            if not numbers or not all(0.0 < n < np.inf for n in numbers):
                raise BadInput("a prior of successes has numbers above zero only")


def success_chances(
    counts: pl.DataFrame, *, prior: SuccessPrior | None = None, level: float = 0.90
) -> pl.DataFrame:
    """Chance that the next job of each model succeeds, the others standing behind it.

    s of n jobs are Binomial(n, p), p of a model is Beta(c m, c (1 - m)) around the mean m of its
    kind, m is Beta(d M, d (1 - M)) around the store's M, and M, c and d are as `prior` says
    (beta-binomial; Gelman et al. 2013, Bayesian Data Analysis, chapter 5). Integrated on a grid.

    Returns model, jobs, cured, success (mean), success_low, success_high (equal tails), in the
    order of `counts`. Raises BadFrame for counts that cannot be, BadInput for a level.
    """
    check_frame(counts, COUNTS, name="counts of jobs")
    if not 0.0 < level < 1.0:
        raise BadInput(f"a level lies between 0 and 1; {level:g} does not")
    if counts.filter((pl.col("cured") < 0) | (pl.col("cured") > pl.col("jobs"))).height:
        raise BadFrame("of a model's jobs more succeeded than were done; correct the counts")
    held = prior or SuccessPrior()
    jobs, cured = (counts[c].cast(pl.Float64).to_numpy() for c in ("jobs", "cured"))
    own = pl.format("model {}", pl.int_range(pl.len()))
    kind = counts.select(pl.coalesce(pl.format("kind {}", "kind"), own).rank("dense") - 1)
    place = kind.to_series().to_numpy().astype(np.int64)
    grid = _Grid.of(held)
    weights = grid.weigh(jobs, cured, place)
    half = (1.0 - level) / 2.0
    found = np.zeros((counts.height, 3))
    seen: dict[tuple[int, float, float], Floats] = {}
    for row, key in enumerate(zip(place.tolist(), jobs.tolist(), cured.tolist(), strict=True)):
        if key not in seen:
            seen[key] = grid.chances(weights[key[0]], key[1], key[2], (half, 1.0 - half))
        found[row] = seen[key]
    names = ("success", "success_low", "success_high")
    return counts.select("model", "jobs", "cured").with_columns(
        pl.Series(name, found[:, i], dtype=pl.Float64) for i, name in enumerate(names)
    )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Grid:
    """`mean`: (cells,) means of a kind; `held`: how likely each store (its mean, and how alike its
    kinds are) is before any job; `mass`: (stores, cells) what means its kinds have; `alike`: worths
    of the models of a kind in jobs.
    """

    mean: Floats
    held: Floats
    mass: Floats
    alike: Floats

    @classmethod
    def of(cls, prior: SuccessPrior) -> "_Grid":
        from scipy.special import betainc

        # Fine near 0 and 1, where means of good shops lie.
        edge = np.sin(np.linspace(0.0, np.pi / 2.0, _CELLS + 1)) ** 2
        mean = (edge[1:] + edge[:-1]) / 2.0
        store = np.diff(betainc(*prior.store, edge))
        worth = np.asarray(prior.kinds)[:, None, None]
        law = betainc(worth * mean[:, None], worth * (1.0 - mean[:, None]), edge)
        return cls(
            mean=mean,
            held=np.tile(store, len(prior.kinds)),
            mass=np.diff(law, axis=-1).reshape(-1, _CELLS),
            alike=np.asarray(prior.models),
        )

    def weigh(self, jobs: Floats, cured: Floats, kind: np.ndarray) -> Floats:
        """Weight of each (models' likeness, mean of the kind) for every kind, adding up to 1."""
        each = self._log_likelihood(jobs, cured)
        kinds = int(kind.max()) + 1 if kind.size else 0
        told = np.zeros((kinds, *each.shape[1:]))
        np.add.at(told, kind, each)
        top = told.max(axis=(1, 2), keepdims=True) if kinds else told
        told = np.exp(told - top)
        # How well each store explains each kind, (kinds, worths of models, stores).
        explained = np.maximum(told @ self.mass.T, np.finfo(float).tiny)
        logs = np.log(explained).sum(axis=0) + np.log(np.maximum(self.held, 1e-300))
        joint = np.exp(logs - logs.max())
        joint /= joint.sum()
        weights: Floats = told * ((joint / explained) @ self.mass)
        weights /= weights.sum(axis=(1, 2), keepdims=True)
        return weights

    def _log_likelihood(self, jobs: Floats, cured: Floats) -> Floats:
        from scipy.special import betaln

        a = self.alike[:, None] * self.mean
        b = self.alike[:, None] * (1.0 - self.mean)
        s, n = cured[:, None, None], jobs[:, None, None]
        out: Floats = betaln(a + s, b + n - s) - betaln(a, b)
        return out

    def chances(
        self, weights: Floats, jobs: float, cured: float, at: tuple[float, float]
    ) -> Floats:
        """Mean and two quantiles of a model's chance, a mixture of beta laws."""
        from scipy.special import betainc

        a = (self.alike[:, None] * self.mean + cured).ravel()
        b = (self.alike[:, None] * (1.0 - self.mean) + jobs - cured).ravel()
        flat = weights.ravel()
        mean = float((flat * a / (a + b)).sum())
        kept = flat > _NEGLIGIBLE * flat.max()
        a, b, flat = a[kept], b[kept], flat[kept] / flat[kept].sum()
        wanted = np.asarray(at)
        low, high = np.zeros(2), np.ones(2)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2.0
            below = (flat[:, None] * betainc(a[:, None], b[:, None], middle)).sum(axis=0) < wanted
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return np.array([mean, *((low + high) / 2.0)])
