"""Which clock do lives follow: calendar age, powered hours, or a mix of both? METHODS: clock.

On the clock with share w of use a life with u hours a year ages ``(1 - w) + w * u / u0`` for
each unit of its age, u0 being typical use: w = 0 is calendar age, w = 1 powered hours. The mix
is linear because wear at rest and wear under power add up. Likelihoods are of the same ages:
the density of an exact failure is multiplied by the rate of its clock.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import polars as pl

from fleet.errors import BadFrame, BadInput
from fleet.fits.groups.life_ages import Ages, ages_of
from fleet.fits.groups.scale_model import Groups, ScaleModel
from fleet.fits.groups.suprema import rows_of, suprema
from fleet.fits.roots import chi_square_1
from fleet.fits.rows import Floats, check_lives, group_codes
from fleet.fits.weibull import check_level

_GRID = 21  # shares tried first
_ROWS = 2_000_000  # rows fitted at once

CLOCKS = pl.Schema(
    {
        "clock": pl.String(),  # age, hours or mix
        "share_hours": pl.Float64(),  # w: 0 for age, 1 for hours
        "share_low": pl.Float64(),  # limits of w; of the mix only
        "share_high": pl.Float64(),
        "log_likelihood": pl.Float64(),
        "times_as_likely": pl.Float64(),  # as on calendar age
        "p_value": pl.Float64(),  # of the clock, were it the true one, falling so far behind
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Clocks:
    """The clocks (CLOCKS), with the lives and failures they were judged by.

    `missing`: lives left out because their hours are unknown or 0; `typical`: hours a year at
    which all clocks run alike.
    """

    clocks: pl.DataFrame
    lives: float
    failures: float
    missing: float
    typical: float


class _Data:
    def __init__(self, lives: pl.DataFrame, hours: str, by: Sequence[str]) -> None:
        self._near: Floats | None = None
        keys, self.group = group_codes(lives, by)
        self.groups = keys.height if by else 1
        self.ages = ages_of(lives)
        self.count = lives["count"].to_numpy()
        self.use: Floats = lives[hours].cast(pl.Float64).to_numpy()
        failed = ~np.isnan(self.ages.high)
        weight = np.where(failed, self.count, 0.0)
        self.typical = float(np.exp(np.average(np.log(self.use), weights=weight)))
        self.exact = np.where(self.ages.high == self.ages.low, self.count, 0.0)

    def value(self, shares: Floats) -> Floats:
        """Largest log-likelihood at each share of hours."""
        if self.groups > 1:
            return np.array([self._together(float(share)) for share in shares])
        step = max(1, _ROWS // max(len(self.count), 1))
        parts = [self._some(shares[i : i + step]) for i in range(0, len(shares), step)]
        return np.concatenate(parts)

    def boundless(self) -> bool:
        """Whether every group's failures fall at one age that no life outlasts."""
        tops = suprema(rows_of(self.ages, self.count, self.group, self.groups))
        return bool(np.isinf(tops).all())

    def _some(self, shares: Floats) -> Floats:
        """One group: the fits of all shares at once."""
        w = shares[:, None]
        rate = (1.0 - w) + w * (self.use / self.typical)
        ages = Ages(*((rate * age).ravel() for age in self.ages))
        count = np.tile(self.count, len(shares))
        group = np.repeat(np.arange(len(shares)), len(self.count))
        tops = suprema(rows_of(ages, count, group, len(shares)))
        return np.asarray(tops + np.log(rate) @ self.exact)

    def _together(self, share: float) -> float:
        """Groups with a scale each and one shape.

        With a shape each, a group of two failures would find a share at which both fall at the
        same age, and its likelihood no bound there.
        """
        rate = (1.0 - share) + share * (self.use / self.typical)
        ages = Ages(*(rate * age for age in self.ages))
        model = ScaleModel(ages, self.count, Groups(group=self.group, width=self.groups))
        best = model.maximum(self._near)
        self._near = best.theta
        return best.value + float(np.log(rate) @ self.exact)


def which_clock(
    lives: pl.DataFrame, hours: str, *, by: Sequence[str] = (), level: float = 0.95
) -> Clocks:
    """Calendar age, powered hours and the best mix, on the likelihood of the same lives.

    `hours`: column of powered hours a year. Each group of `by` has a scale of its own, shape and
    clock are one for all; groups without a failure are left out. Limits are of the profile
    likelihood and end at 0 and 1, where they are on the safe side (Self and Liang 1987, J. Am.
    Statist. Assoc. 82:605-610, whose mixture of chi-squares gives `p_value`). Raises BadFrame;
    BadInput where nothing failed, all hours are equal, or the likelihood has no bound.
    """
    check_level(level)
    check_lives(lives, by)
    if hours not in lives.columns or not lives.schema[hours].is_numeric():
        raise BadFrame(f"the life table has no column {hours} of numbers: hours a year are needed")
    use = pl.col(hours)
    known = lives.filter((use > 0.0) & use.is_finite())
    timed = float(known["count"].sum())
    failures = float(known.filter(pl.col("high").is_not_null())["count"].sum())
    if failures <= 0.0:
        raise BadInput(f"no life with {hours} known has failed; clocks cannot be told apart")
    if by:  # a group without failures tells nothing: its life may be endless on any clock
        known = known.filter(pl.col("high").is_not_null().any().over(list(by)))
    data = _Data(known, hours, by)
    if np.ptp(np.log(data.use)) < 1e-9:
        raise BadInput(f"{hours} is the same for every life; age and hours cannot be told apart")
    if data.boundless():
        raise BadInput(
            "all failures fall at one age that no life outlasts: the likelihood has no bound, and "
            "clocks cannot be told apart"
        )
    shares = np.linspace(0.0, 1.0, _GRID)
    values = data.value(shares)
    best, top = _refine(data, shares, values)
    low, high = _limits(data, shares, values, best, top, 0.5 * chi_square_1(level))
    return Clocks(
        clocks=_frame(values[0], values[-1], best, top, low, high),
        lives=float(known["count"].sum()),
        failures=failures,
        missing=float(lives["count"].sum()) - timed,
        typical=data.typical,
    )


def _refine(data: _Data, shares: Floats, values: Floats) -> tuple[float, float]:
    """The best share and its value, from the best of the grid and its neighbours."""
    from scipy.optimize import minimize_scalar

    at, step = int(np.argmax(values)), float(shares[1])
    best, top = float(shares[at]), float(values[at])
    ends = (max(best - step, 0.0), min(best + step, 1.0))
    found = minimize_scalar(
        lambda share: -float(data.value(np.array([share]))[0]),
        bounds=ends,
        method="bounded",
        options={"xatol": 1e-8},
    )
    return (float(found.x), -float(found.fun)) if -found.fun > top else (best, top)


def _limits(
    data: _Data, shares: Floats, values: Floats, best: float, top: float, drop: float
) -> tuple[float, float]:
    target = top - drop
    ends = []
    for sign in (-1.0, 1.0):
        outside = (values < target) & (sign * (shares - best) > 0.0)
        if not outside.any():
            ends.append(0.0 if sign < 0.0 else 1.0)
            continue
        # the outermost crossing: the farthest share still inside, and its neighbour
        inside = np.append(shares[(values >= target) & (sign * (shares - best) > 0.0)], best)
        near = float(inside[np.argmax(sign * inside)])
        beyond = shares[sign * (shares - near) > 0.0]
        if not len(beyond):
            ends.append(near)
            continue
        ends.append(_crossing(data, near, float(beyond[np.argmin(sign * beyond)]), target))
    return ends[0], ends[1]


def _crossing(data: _Data, inside: float, outside: float, target: float) -> float:
    from scipy.optimize import brentq

    def above(share: float) -> float:
        return float(data.value(np.array([share]))[0]) - target

    if above(inside) <= 0.0:  # rounding: the best share itself
        return inside
    return float(brentq(above, inside, outside, xtol=1e-10))


def _frame(
    age: float, hours: float, best: float, top: float, low: float, high: float
) -> pl.DataFrame:
    from scipy.special import chdtrc

    def row(
        name: str, share: float, ends: tuple[float | None, float | None], value: float
    ) -> tuple[object, ...]:
        behind = max(2.0 * (top - value), 0.0)
        chance = None if name == "mix" else (0.5 * float(chdtrc(1, behind)) if behind else 1.0)
        times = float(np.exp(min(value - age, 700.0)))
        return name, share, *ends, value, times, chance

    rows = [
        row("age", 0.0, (None, None), age),
        row("hours", 1.0, (None, None), hours),
        row("mix", best, (low, high), top),
    ]
    return pl.DataFrame(rows, schema=CLOCKS, orient="row")
