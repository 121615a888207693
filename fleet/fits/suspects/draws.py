"""What posterior draws say of batches and models. METHODS: shrunk-effects, shares-of-variation."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.fits.rows import Floats, Ints
from fleet.frames import check_frame

# One row a draw of one batch's scale; draw numbers are joint within a model and its parts.
DRAWS = pl.Schema(
    {
        "model": pl.String,
        "parts": pl.String,  # original or replaced
        "batch": pl.String,  # null: a new or unknown batch of the model
        "draw": pl.Int64,
        "weight": pl.Float64,  # sums to 1 over the draws of one model, parts and batch
        "shape": pl.Float64,
        "scale": pl.Float64,  # days, of this batch
        "centre": pl.Float64,  # days, scale of the model's typical batch
        "spread": pl.Float64,  # standard deviation of log batch scales within the model
    }
)
FAMILY = ("model", "parts")
_TOGETHER = 2_000  # joint draws over models
_SEED = 4_104


def weighted_limits(
    frame: pl.DataFrame, by: Sequence[str], value: str, *, level: float
) -> pl.DataFrame:
    """Median and equal-tailed limits of `value` by `weight`: `by`, value, value_low, value_high."""
    tail = 0.5 * (1.0 - level)
    ordered = frame.sort([*by, value])
    weight = pl.col("weight")
    share = weight.cum_sum().over(list(by)) / weight.sum().over(list(by))
    marks = {value: 0.5, f"{value}_low": tail, f"{value}_high": 1.0 - tail}
    # the last draw stands for what rounding leaves of the weights
    picked = [
        pl.col(value).filter(pl.col("_share") >= at - 1e-12).first().fill_null(pl.col(value).last())
        .alias(name)
        for name, at in marks.items()
    ]  # fmt: skip
    found = ordered.with_columns(share.alias("_share")).group_by(list(by), maintain_order=True)
    return found.agg(picked)


def batch_effects(draws: pl.DataFrame, *, level: float = 0.90) -> pl.DataFrame:
    """Each batch's scale over that of its model's typical batch, shrunk as the posterior does.

    Columns: model, parts, batch, effect (posterior median), effect_low, effect_high, p_shorter
    (posterior chance that it lives shorter than the typical batch). Raises BadFrame.
    """
    check_frame(draws, DRAWS, name="draws")
    known = draws.filter(pl.col("batch").is_not_null()).with_columns(
        effect=pl.col("scale") / pl.col("centre")
    )
    by = [*FAMILY, "batch"]
    shorter = (pl.col("weight") * (pl.col("effect") < 1.0)).sum() / pl.col("weight").sum()
    chance = known.group_by(by).agg(shorter.alias("p_shorter"))
    return weighted_limits(known, by, "effect", level=level).join(chance, on=by, how="left")


def beside_the_other(
    draws: pl.DataFrame, pairs: pl.DataFrame, *, level: float = 0.90
) -> pl.DataFrame:
    """How a batch lives beside the other of its pair.

    `pairs`: model, parts, batch, two rows for each model and parts. Columns: these, other (its
    scale over that of the other, posterior median), other_low, other_high and p_shorter (chance
    that this is below 1).
    """
    by = [*FAMILY, "batch"]
    joint = draws.join(pairs.select(by).unique(), on=by).sort(*FAMILY, "draw", "batch")
    log = pl.col("scale").log()
    # of two, twice the distance to their mean
    apart = 2.0 * (log - log.mean().over([*FAMILY, "draw"]))
    marked = joint.with_columns(other=apart.exp())
    chance = (pl.col("weight") * (pl.col("other") < 1.0)).sum() / pl.col("weight").sum()
    middle = weighted_limits(marked, by, "other", level=level)
    chances = marked.group_by(by).agg(chance.alias("p_shorter"))
    return middle.join(chances, on=by, how="left", maintain_order="left")


def beside_the_rest(
    draws: pl.DataFrame, rest: pl.DataFrame, *, level: float = 0.90
) -> pl.DataFrame:
    """Each batch of `rest` (model, parts, batch) over the geometric mean of these batches of its
    model: model, parts, batch, rest, rest_low, rest_high.
    """
    by = [*FAMILY, "batch"]
    joint = draws.join(rest.select(by).unique(), on=by)
    log = pl.col("scale").log()
    ratio = (log - log.mean().over([*FAMILY, "draw"])).exp()
    return weighted_limits(joint.with_columns(rest=ratio), by, "rest", level=level)


def chance_alike(draws: pl.DataFrame, *, within: float) -> pl.DataFrame:
    """Posterior chance that every known batch of a model lives between `within` and 1 / `within`
    times as long as its typical batch, that the model wears out (shape above 1), and of both.

    Columns: model, parts, p_alike, p_wears_out, p_design.
    """
    known = draws.filter(pl.col("batch").is_not_null())
    near = (pl.col("scale") / pl.col("centre")).is_between(within, 1.0 / within)
    joint = known.group_by([*FAMILY, "draw"]).agg(
        near.all().alias("near"),
        pl.col("weight").first(),
        (pl.col("shape").first() > 1.0).alias("wears"),
    )
    weight = pl.col("weight")

    def share(what: pl.Expr) -> pl.Expr:
        return (weight * what).sum() / weight.sum()

    return (
        joint.group_by(list(FAMILY))
        .agg(
            share(pl.col("near")).alias("p_alike"),
            share(pl.col("wears")).alias("p_wears_out"),
            share(pl.col("near") & pl.col("wears")).alias("p_design"),
        )
        .sort(list(FAMILY))
    )


def shapes(draws: pl.DataFrame, *, level: float = 0.90) -> pl.DataFrame:
    """Shape of each model and parts: model, parts, shape, shape_low, shape_high."""
    once = draws.unique([*FAMILY, "draw"], keep="first", maintain_order=True)
    return weighted_limits(once, FAMILY, "shape", level=level)


class Together:
    """Draws of several models side by side: models know nothing of one another, so each model's
    draws are dealt out by weight in an order of its own (fixed seed).
    """

    def __init__(self, draws: pl.DataFrame, parts: str) -> None:
        rng = np.random.default_rng(_SEED)
        own = draws.filter(pl.col("parts") == parts).sort("model", "draw", "batch")
        self.models: list[str] = own["model"].unique(maintain_order=True).to_list()
        self.shape, self.centre, self.scales = [], [], []
        for model in self.models:
            mine = own.filter(pl.col("model") == model)
            once = mine.unique("draw", keep="first", maintain_order=True)
            weight = once["weight"].to_numpy().cumsum()
            marks = (np.arange(_TOGETHER) + 0.5) / _TOGETHER * weight[-1]
            chosen = rng.permutation(np.minimum(np.searchsorted(weight, marks), len(weight) - 1))
            self.shape.append(once["shape"].to_numpy()[chosen])
            self.centre.append(np.log(once["centre"].to_numpy()[chosen]))
            self.scales.append(_log_scales(mine, chosen))

    def batch(self, model: str, batch: str) -> Floats:
        """Log of the batch's scale over its model's typical scale, one number a joint draw."""
        at = self.models.index(model)
        return np.asarray(self.scales[at][batch] - self.centre[at])


def _log_scales(mine: pl.DataFrame, chosen: Ints) -> dict[str, Floats]:
    known = mine.filter(pl.col("batch").is_not_null())
    return {
        str(name): np.log(part.sort("draw")["scale"].to_numpy()[chosen])
        for (name,), part in known.group_by("batch", maintain_order=True)
    }


def model_effects(draws: pl.DataFrame, *, level: float = 0.90) -> pl.DataFrame:
    """Each model's typical scale over the geometric mean of all models' with the same kind of
    parts. Columns: model, parts, effect, effect_low, effect_high; null where there is one model.
    """
    out = []
    for parts in draws["parts"].unique().sort():
        joint = Together(draws, parts)
        centres = np.stack(joint.centre)
        ratios = centres - centres.mean(axis=0)
        for model, ratio in zip(joint.models, ratios, strict=True):
            limits = np.exp(limits_of(ratio, level)) if len(joint.models) > 1 else [None] * 3
            out.append((model, parts, *limits))
    names = ("effect", "effect_low", "effect_high")
    schema = {"model": pl.String, "parts": pl.String, **dict.fromkeys(names, pl.Float64)}
    return pl.DataFrame(out, schema=schema, orient="row")


def limits_of(values: Floats, level: float) -> Floats:
    """Median and equal-tailed limits of draws of equal weight."""
    tail = 0.5 * (1.0 - level)
    return np.quantile(values, [0.5, tail, 1.0 - tail])
