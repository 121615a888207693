"""Draws of the posterior as arrays, and the law of each unit under each draw.

METHODS: unit-draws, stress
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.decisions.weibull_life import LARGEST, Floats, Mask, Whole
from fleet.errors import BadFrame
from fleet.frames import CELLS, DRAWS, check_frame

_LN2_PER_TEN = np.log(2.0) / 10.0
_SITE = ("usual_c", "usual_hours", "mean_c", "sd_c", "mean_log_hours", "sd_log_hours")
_HEAT, _USE = 30, 31  # seeds of the order in which even steps meet; nothing random in it


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class DrawnLives:
    """Draws by cell, (cells, draws), logs of scales; and what stands in for blanks in each."""

    weight: Floats
    shape: Floats
    log_scale: Floats
    log_centre: Floats  # of the model's typical batch
    batch_sd: Floats  # of log scales of batches around it
    heat: Floats
    calendar: Floats
    usual_c: Floats
    usual_hours: Floats
    mean_c: Floats
    sd_c: Floats
    mean_log_hours: Floats
    sd_log_hours: Floats

    @classmethod
    def of(cls, cells: pl.DataFrame, draws: pl.DataFrame) -> "DrawnLives":
        """From frames.CELLS and frames.DRAWS, the draws of each cell together and in its order.

        Raises BadFrame for frames that break their contract or do not belong together.
        """
        check_frame(cells, CELLS, name="cells")
        check_frame(draws, DRAWS, name="draws")
        count = cells.height
        order = np.arange(count)
        each = np.repeat(order, max(draws.height // count, 1) if count else 0)
        if not (np.array_equal(cells["cell"], order) and np.array_equal(draws["cell"], each)):
            raise BadFrame(
                "the draws do not fit the cells; number the cells from 0, and give each the same "
                "number of draws, together and in the order of the cells"
            )

        def table(name: str) -> Floats:
            return np.array(draws[name].to_numpy()).reshape(count, draws.height // max(count, 1))

        return cls(
            weight=table("weight"),
            shape=table("shape"),
            log_scale=np.log(table("scale")),
            log_centre=np.log(table("centre")),
            batch_sd=_batch_sd(cells, table),
            heat=table("heat"),
            calendar=table("calendar"),
            **{name: np.array(cells[name].fill_null(np.nan).to_numpy()) for name in _SITE},
        )

    @property
    def draws(self) -> int:
        """How many draws each cell has."""
        return int(self.shape.shape[1])

    def tells_heat(self) -> Mask:
        """Cells in whose model temperatures are known."""
        return np.asarray(~np.isnan(self.mean_c))

    def tells_use(self) -> Mask:
        """Cells in whose model powered hours are known."""
        return np.asarray(~np.isnan(self.mean_log_hours))

    def log_factor(
        self, cell: Whole, ambient_c: Floats, hours: Floats, *, place: int | None
    ) -> Floats:
        """Log of the factor on the life of each unit under each draw, (units, draws).

        A blank takes values at even steps of the law of its model's sets when they were new.
        `place` as in `even_steps`.
        """
        out = np.zeros((cell.size, self.draws))
        # where no draw has heat or use change a life there is nothing to work out
        heat = (self.tells_heat() & (self.heat != 0.0).any(axis=1))[cell]
        use = (self.tells_use() & (self.calendar != 1.0).any(axis=1))[cell]
        if heat.any():
            warm = _filled(ambient_c, self.mean_c[cell], self.sd_c[cell], self.draws, _HEAT, place)
            warm -= self.usual_c[cell][:, None]
            out -= np.where(heat[:, None], self.heat[cell] * _LN2_PER_TEN * warm, 0.0)
        if use.any():
            with np.errstate(divide="ignore", invalid="ignore"):
                told = np.log(np.where(hours > 0.0, hours, np.nan))
            law = self.mean_log_hours[cell], self.sd_log_hours[cell]
            used = np.exp(_filled(told, *law, self.draws, _USE, place))
            used /= self.usual_hours[cell][:, None]
            share = self.calendar[cell]
            out -= np.where(use[:, None], np.log(share + (1.0 - share) * used), 0.0)
        return out


def _batch_sd(cells: pl.DataFrame, table: Callable[[str], Floats]) -> Floats:
    """Spread of log batch scales, (cells, draws); of parts that a recap put in it is wider, by as
    much as the draws of such parts yet to come show.
    """
    spread = table("spread")
    wider = np.zeros(cells.height)
    renewed = cells["to_come"].to_numpy() & (cells["parts"] == "replaced").to_numpy()
    if renewed.any():
        off = np.log(table("scale") / table("centre"))
        wider = np.where(renewed, np.maximum((off**2 - spread**2).mean(axis=1), 0.0), 0.0)
    return np.asarray(np.sqrt(spread**2 + wider[:, None]))


def _filled(
    told: Floats, mean: Floats, sd: Floats, draws: int, seed: int, place: int | None
) -> Floats:
    """Told values, and for blanks even steps of a normal law, (units, draws)."""
    from scipy.special import ndtri

    out = np.repeat(told[:, None], draws, axis=1)
    blank = np.flatnonzero(np.isnan(told))
    if blank.size:
        steps = ndtri(even_steps(blank.size, draws, seed, place))
        out[blank] = mean[blank, None] + sd[blank, None] * steps
    return out


def even_steps(rows: int, draws: int, seed: int, place: int | None) -> Floats:
    """(rows, draws): even steps over 0 to 1 in a shuffled order that a seed fixes.

    Without a `place` every row has the same order, so that like units get like answers. With one,
    the place of the first row in the whole table, each row has its own: for sums over units,
    whose own doubts are independent of each other.
    """
    steps = (np.arange(draws) + 0.5) / draws
    if place is None:
        return np.tile(np.random.default_rng(seed).permutation(steps), (rows, 1))
    order = np.random.default_rng((seed, place))
    return np.asarray(order.permuted(np.tile(steps, (rows, 1)), axis=1))


def hazard_at(shape: Floats, log_scale: Floats, age: Floats) -> Floats:
    """Cumulative hazard (age / scale)^shape; arrays broadcast."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.exp(np.minimum(shape * (np.log(age) - log_scale), LARGEST)))


def quantiles(values: Floats, weight: Floats, shares: tuple[float, ...]) -> list[Floats]:
    """Smallest value of each row with at least a share of its weight at or below it.

    Both (rows, draws); values may be infinite.
    """
    if weight.size and (weight == weight[:, :1]).all() and (weight[:, 0] > 0.0).all():
        return _of_equal(values, shares)
    order = np.argsort(values, axis=1)
    ranked = np.take_along_axis(values, order, axis=1)
    reached = np.cumsum(np.take_along_axis(weight, order, axis=1), axis=1)
    out = []
    for share in shares:
        place = np.minimum(_short_of(reached, share).sum(axis=1), values.shape[1] - 1)
        out.append(np.take_along_axis(ranked, place[:, None], axis=1)[:, 0])
    return out


def _of_equal(values: Floats, shares: tuple[float, ...]) -> list[Floats]:
    """The same where all weights of a row are alike: no need to put all values in order."""
    count = values.shape[1]
    reached = np.cumsum(np.ones((1, count)), axis=1)
    places = [min(int(_short_of(reached, share).sum()), count - 1) for share in shares]
    ranked = np.partition(values, places, axis=1)
    return [np.asarray(ranked[:, place]) for place in places]


def _short_of(reached: Floats, share: float) -> Mask:
    return np.asarray(reached < share * reached[:, -1:] * (1.0 - 1e-12))
