"""Groups told apart from the rest of their family one by one. METHODS: lives-alike."""

import math
from dataclasses import dataclass, field

import numpy as np
import polars as pl

from fleet.fits.rows import Floats, Rows, group_sum
from fleet.fits.solver.batch import maxima
from fleet.fits.suspects.deviation import spread_when_many
from fleet.fits.suspects.redrawn import against_own_fit, redrawn_deviations

FEW = 5.0  # failures below which no p-value is smaller than what draws can show; our own rule
FEWEST = 3.0  # failures of a family below which its groups are not compared; our own rule
_WORTH = 0.1  # one-sided chance above which a fifth of the draws is enough
MANY = 40.0  # failures expected in every group from which deviations are normal; our own rule
_MOST = 500_000  # rows drawn in all for one comparison: large fleets are drawn less often ...
_LEAST = 99  # ... but not less often than this, beyond which chances are those of many failures
_AT_FIRST = 100  # draws, or a fifth, before it is seen whether more are worth it
_SURE = 10  # draws as extreme from which their share is the p-value


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Stage:
    """Some groups of a family held against one Weibull of them all.

    `groups`: their numbers in the family. `root`, `excess`: see deviation. `p_values`: chance of
    a deviation as large where all live alike; `p_alike`: the same of all deviations together.
    """

    groups: tuple[int, ...]
    shape: float
    root: Floats
    excess: Floats
    p_values: Floats
    p_alike: float
    draws: int

    @property
    def first(self) -> int:
        """Place in `groups` of the one least likely to live like the others."""
        return int(np.lexsort((-np.abs(self.root), self.p_values))[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """A group told apart: as which of all, and its p-value adjusted for the others looked at."""

    order: int
    p_adjusted: float


@dataclass(eq=False, slots=True, kw_only=True)
class Family:
    """Groups that may live alike, and what is known of them so far."""

    rows: Rows
    left: list[int]
    stages: list[Stage] = field(default_factory=list)
    apart: dict[int, "Verdict"] = field(default_factory=dict)  # by group

    def look(self, *, draws: int, seed: int) -> Stage | None:
        """Hold the groups that are left against one Weibull; None where there is no fit, or
        nothing to compare.
        """
        stage = None
        if len(self.left) > 1:
            stage = hold(self.rows.rows(np.array(self.left)), self.left, draws=draws, seed=seed)
        if stage is not None:
            self.stages.append(stage)
        return stage

    def tell_apart(self, order: int, p_adjusted: float) -> None:
        """Take the group least likely to live like the others out of them."""
        stage = self.stages[-1]
        group = stage.groups[stage.first]
        self.apart[group] = Verdict(order=order, p_adjusted=p_adjusted)
        self.left.remove(group)

    def last_stage(self, group: int) -> Stage | None:
        """The stage a group was last compared in."""
        return next((s for s in reversed(self.stages) if group in s.groups), None)


def hold(rows: Rows, groups: list[int], *, draws: int, seed: int) -> Stage | None:
    """One stage; None where the lives together fix no Weibull or most drawn fleets fix none.

    Without draws, with very many lives, or where no group expects few failures, chances are those
    of many failures.
    """
    code = np.repeat(np.arange(rows.groups), np.diff(rows.starts))
    failures = group_sum(code, rows.count * ~np.isnan(rows.high), rows.groups)
    whole = maxima(_together(rows))
    if failures.sum() < FEWEST or not whole.exists[0]:
        return None
    found = against_own_fit(rows, rows.groups, float(whole.shape[0]))
    if not len(found[0]):
        return None
    (root,), (excess,), (shape,), (log_scale,) = found
    draws = min(draws, _MOST // len(rows.entry))
    if draws < _LEAST or float((failures - excess).min()) >= MANY:
        p_values, p_alike = _when_many(rows, root, float(shape), float(log_scale))
        return Stage(
            groups=tuple(groups), shape=float(shape), root=root, excess=excess,
            p_values=p_values, p_alike=p_alike, draws=0,
        )  # fmt: skip

    def redraw(many: int, seed: int) -> Floats:
        return redrawn_deviations(rows, float(shape), float(log_scale), draws=many, seed=seed)

    few = max(draws // 5, _AT_FIRST) if draws > _AT_FIRST else draws
    drawn = redraw(few, seed)
    if len(drawn) < 0.5 * few:
        return None
    if few < draws and _unlikely(root, drawn):
        drawn = np.concatenate([drawn, redraw(draws - few, seed + 1)])
    spread = (drawn**2).sum(axis=1)
    as_far = int((spread >= float((root**2).sum()) * (1.0 - 1e-9)).sum())
    return Stage(
        groups=tuple(groups),
        shape=float(shape),
        root=root,
        excess=excess,
        p_values=_p_values(root, drawn, failures),
        p_alike=(1 + as_far) / (1 + len(drawn)),
        draws=len(drawn),
    )


def _when_many(rows: Rows, root: Floats, shape: float, log_scale: float) -> tuple[Floats, float]:
    """P-values where failures are many: normal deviations, chi-square all together."""
    from scipy.special import chdtrc, ndtr

    spread = spread_when_many(rows, shape, log_scale)
    with np.errstate(all="ignore"):
        p_values = 2.0 * ndtr(-np.abs(root) / spread)
    p_values = np.where(spread > 1e-6, p_values, 1.0)
    return np.asarray(p_values), float(chdtrc(rows.groups - 1, (root**2).sum()))


def _unlikely(root: Floats, drawn: Floats) -> bool:
    """Whether some group, or all together, may depart: only then are more draws worth it."""
    above, below = (drawn >= root).mean(axis=0), (drawn <= root).mean(axis=0)
    far = ((drawn**2).sum(axis=1) >= (root**2).sum()).mean()
    return bool(min(float(np.minimum(above, below).min()), far / 2.0) < _WORTH)


def _together(rows: Rows) -> Rows:
    return Rows(
        keys=pl.DataFrame(), starts=rows.starts[[0, -1]], entry=rows.entry, low=rows.low,
        high=rows.high, known_by=rows.known_by, count=rows.count,
    )  # fmt: skip


def _p_values(root: Floats, drawn: Floats, failures: Floats) -> Floats:
    """Two-sided: by the share of draws; where hardly any is as extreme and failures are not few,
    by the normal tail at the draws' mean and spread, which is smoother.
    """
    near = 1e-9 * (1.0 + np.abs(root))
    above, below = (drawn >= root - near).sum(axis=0), (drawn <= root + near).sum(axis=0)
    fewer = np.minimum(above, below)
    counted = np.minimum(1.0, 2.0 * (1 + fewer) / (1 + len(drawn)))
    spread = drawn.std(axis=0)
    far = np.abs(root - drawn.mean(axis=0)) / np.where(spread > 0.0, spread, np.inf)
    smooth = np.array([math.erfc(value / math.sqrt(2.0)) for value in far])
    use = (fewer < _SURE) & (failures >= FEW) & (spread > 0.0)
    return np.asarray(np.where(use, np.minimum(smooth, counted), counted))
