"""One group of lives with sets of suspects, fitted step by step. METHODS: masked-causes."""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import polars as pl

from fleet.errors import BadFrame
from fleet.fits.masked import verdicts as why
from fleet.fits.masked.climb import Top, at_the_end, climb
from fleet.fits.masked.laws import LifeLaw, ShareLaw
from fleet.fits.masked.profiles import Profiles
from fleet.fits.masked.rows import MaskedRows
from fleet.fits.roots import chi_square_1
from fleet.fits.rows import Ints, Mask
from fleet.fits.weibull import HAZARDS

Shape = Literal["auto", "shared", "own"] | float
Limit = Literal["share", "shape", "scale", "b10"]
ALL_LIMITS: tuple[Limit, ...] = ("share", "shape", "scale", "b10")
LARGE = 1_000  # rows above which shares are read off who failed alone, where shapes are equal
ENOUGH = 10.0  # failures of each position from which shapes of their own are tried; our own rule

F, S, B = pl.Float64(), pl.String(), pl.Boolean()
CAUSES = pl.Schema(
    {
        "position": S,  # positions that cannot be told apart are one row, joined by ;
        "positions": F,  # how many that is
        "lives": F,  # lives in which every position was watched
        "failures": F,  # its part of the failures, shared out over the suspects
        "named": F,  # failures of which it was suspected, alone or among others
        "alone": F,  # failures of which it was the only suspect
        "exists": B,  # there is a Weibull for it
        "reason": S,  # why not, or what to know
        "share": F,  # of all failures of boards whose parts are of one age
        "share_low": F,
        "share_high": F,
        **{
            f"{name}{end}": F for name in ("shape", "scale", "b10") for end in ("", "_low", "_high")
        },
        "log_likelihood": F,  # of all positions together
    }
)


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Fit:
    """What was found: the law of whole lives where there is one, and the law of the shares."""

    life: LifeLaw | None
    top: Top | None
    shares: LifeLaw | ShareLaw
    shares_top: Top
    held: bool = False
    reason: str | None = None


class Group:
    """One group's fit, step by step."""

    def __init__(
        self, rows: MaskedRows, shape: Shape, pull: float, level: float, limits: tuple[Limit, ...]
    ) -> None:
        self.rows, self.shape, self.pull, self.level = rows, shape, pull, level
        self.limits, self.drop = limits, chi_square_1(level) / 2.0
        self.watched: Mask = np.asarray(rows.at_risk.any(axis=0))
        self.named = (rows.weight > 0.0) * rows.count[:, None]
        self.board = bool(rows.at_risk.all())

    def table(self) -> pl.DataFrame:
        """CAUSES, a row for each column."""
        rows = self.rows
        columns: list[dict[str, Any]] = [dict.fromkeys(CAUSES) for _ in rows.names]
        alone = np.flatnonzero((rows.weight > 0.0).sum(axis=1) == 1)
        lives = float(rows.count[rows.whole].sum()) if len(rows.count) else 0.0
        for i, row in enumerate(columns):
            row["position"], row["positions"] = rows.names[i], rows.sizes[i]
            row["lives"], row["exists"], row["failures"] = lives, False, 0.0
            row["named"] = float(self.named[:, i].sum())
            row["alone"] = float(self.named[alone, i].sum()) if rows.sizes[i] == 1 else 0.0
        if not rows.failed.any():
            self._none_failed(columns)
        else:
            self._fill(columns, self._fit())
        return pl.DataFrame(columns, schema=CAUSES, orient="row")

    def _none_failed(self, columns: list[dict[str, Any]]) -> None:
        """Each position outlasts the board: the board's lower limits are its own."""
        board = why.board_fit(self.rows, self.level).row(0, named=True)
        for i, row in enumerate(columns):
            row["reason"] = why.NO_FAILURE if self.watched[i] else why.NOT_WATCHED
            for name in ("scale_low", "b10_low"):
                known = board[name] is not None and self.watched[i]
                row[name] = board[name] * self.rows.unit if known else None

    def _fit(self) -> Fit:
        if not self.watched.all():
            raise BadFrame("a position was not watched in any row; leave it out of positions")
        if self.shape == "own":
            return self._own(self._shared())
        shared = self._shared()
        if self.shape != "auto" or shared.top is None:
            return shared
        blamed = shared.shares.blamed(shared.shares_top.z)
        suspected = self.named.any(axis=0)
        if suspected.sum() > 1 and (blamed[suspected] >= ENOUGH).all():
            own = self._own(shared)
            return own if own.reason is None else shared
        return shared

    def _shares(self) -> tuple[ShareLaw, Top]:
        law = ShareLaw(self.rows, pull=self.pull)
        start = np.full(law.columns, law.failures / law.columns)
        return law, climb(law, start)

    def _shared(self) -> Fit:
        """One shape for all."""
        rows = self.rows
        shares, shares_top = self._shares()
        held = not isinstance(self.shape, str)
        reason, start = None, 2.0
        if held:
            start = float(self.shape)
        elif self.board:
            shape, reason = why.board_shape(rows)
            start = shape or start
        else:
            reason = why.shared_spike(rows)
        if reason is None:
            law = LifeLaw(rows, own=False, pull=self.pull)
            z = np.concatenate([[np.log(start)], shares_top.z])
            top = climb(law, z, fixed=np.array([0]) if held else None)
            if held or not len(at_the_end(law, top)):
                # boards alone: shares do not hang on the shape, and their law is much faster; in
                # large tables what positions lived alone tells little beside it
                same = self.board or len(rows.count) > LARGE
                return Fit(
                    life=law,
                    top=top,
                    shares=shares if same else law,
                    shares_top=shares_top if same else top,
                    held=held,
                )
            reason = why.AT_THE_END
        return Fit(life=None, top=None, shares=shares, shares_top=shares_top, reason=reason)

    def _own(self, shared: Fit) -> Fit:
        """A shape each; the shared one, with the reason, where there is none."""
        spike = why.own_spike(self.rows)
        if spike is not None:
            return _because(shared, why.OWN_SPIKE.format(self.rows.names[spike]))
        law = LifeLaw(self.rows, own=True, pull=self.pull)
        first = 0.5 if shared.top is None else shared.top.z[0]
        starts = [np.full(law.columns, first + step) for step in (0.0, -0.7, 0.7)]
        blamed = np.maximum(shared.shares.blamed(shared.shares_top.z), 1e-3)
        tops = [climb(law, np.concatenate([start, blamed])) for start in starts]
        inside = [top for top in tops if not len(at_the_end(law, top))]
        if not inside:
            return _because(shared, why.OWN_END)
        top = max(inside, key=lambda t: t.value)
        return Fit(life=law, top=top, shares=law, shares_top=top)

    def _fill(self, columns: list[dict[str, Any]], fit: Fit) -> None:
        rows = self.rows
        level = fit.shares_top.z[fit.shares.shapes :]
        slope = fit.shares(np.maximum(fit.shares_top.z, 1e-12))[1][fit.shares.shapes :]
        own = fit.life is not None and fit.life.own
        loose = np.zeros(len(level), dtype=bool) if own else why.not_settled(rows, level, slope)
        blamed = fit.shares.blamed(fit.shares_top.z)
        total = float(level.sum())
        same = _alike(rows)
        done: dict[int, dict[str, Any]] = {}
        for i, row in enumerate(columns):
            row["failures"] = None if loose[i] else float(blamed[i])
            row["share"] = None if loose[i] else float(level[i] / total)
            row["reason"] = self._reason(i, fit, loose=bool(loose[i]), none=level[i] <= 0.0)
            if same[i] not in done:
                done[same[i]] = self._of_column(i, fit, loose=bool(loose[i]))
            row |= done[same[i]]

    def _reason(self, i: int, fit: Fit, *, loose: bool, none: bool) -> str | None:
        said = [
            why.NOT_TOLD if loose else None,
            why.TOGETHER if self.rows.sizes[i] > 1 else None,
            None if bool(self.named[:, i].any()) else why.NEVER_NAMED,
            why.NONE_LEFT if none and bool(self.named[:, i].any()) else None,
            fit.reason,
        ]
        return "; ".join(text for text in said if text) or None

    def _of_column(self, i: int, fit: Fit, *, loose: bool) -> dict[str, Any]:
        """Limits of the share, and the Weibull with its limits."""
        out: dict[str, Any] = {}
        if "share" in self.limits:
            profiles = Profiles(fit.shares, fit.shares_top, self.drop, held=fit.held)
            out["share_low"], out["share_high"] = profiles.share(i)
        life, top = fit.life, fit.top
        if life is None or top is None:
            return out
        out["log_likelihood"] = self._value(life, top)
        shapes, rates = life.rates(top.z)
        if rates[i] > 0.0 and not loose:
            out["exists"] = True
            out["shape"] = float(shapes[i])
            for name, hazard in zip(("scale", "b10"), HAZARDS, strict=True):
                out[name] = self.rows.unit * float((hazard / rates[i]) ** (1.0 / shapes[i]))
        return out | self._limits(i, life, top, held=fit.held, some=bool(rates[i] > 0.0))

    def _limits(
        self, i: int, life: LifeLaw, top: Top, *, held: bool, some: bool
    ) -> dict[str, float | None]:
        out: dict[str, float | None] = {}
        profiles = Profiles(life, top, self.drop, held=held)
        if "shape" in self.limits and some and not held:
            pair = profiles.shape(i if life.own else 0)
            out["shape_low"], out["shape_high"] = pair
        for name, hazard in zip(("scale", "b10"), HAZARDS, strict=True):
            if name in self.limits:
                sides = profiles.age(i, float(hazard))
                out[f"{name}_low"], out[f"{name}_high"] = (
                    None if side is None else side * self.rows.unit for side in sides
                )
        return out

    def _value(self, life: LifeLaw, top: Top) -> float:
        plain = LifeLaw(self.rows, own=life.own, pull=0.0) if self.pull else life
        with np.errstate(divide="ignore", invalid="ignore"):
            return plain(np.where(top.z == 0.0, 1e-300, top.z) if not life.own else top.z)[0]


def _because(fit: Fit, reason: str) -> Fit:
    joined = reason if fit.reason is None else f"{reason}; {fit.reason}"
    return Fit(
        life=fit.life,
        top=fit.top,
        shares=fit.shares,
        shares_top=fit.shares_top,
        held=fit.held,
        reason=joined,
    )


def _alike(rows: MaskedRows) -> Ints:
    """Columns that every row treats alike share their limits: the number of the first of them."""
    first: dict[bytes, int] = {}
    keys = [
        rows.weight[:, i].tobytes() + rows.at_risk[:, i].tobytes() + rows.sizes[i].tobytes()
        for i in range(len(rows.names))
    ]
    return np.array([first.setdefault(key, i) for i, key in enumerate(keys)], dtype=np.int64)
