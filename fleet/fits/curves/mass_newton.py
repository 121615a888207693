"""Chances of cells where windows are closed on both sides. METHODS: turnbull.

``sum n log(P(A) / P(B))``, A the cells a row may end in, B its window: neither concave in
hazards nor in masses, but smooth in the logs of the masses, where masses that must vanish beside
others do so without losing their own proportions. With failures of known age it is concave there
(Xiao and Hudgens 2019, Biometrika 106:989-996, who give the conditions for its maximum).
"""

import numpy as np
import numpy.typing as npt

from fleet.fits.rows import Floats, Mask

_DEEP = -600.0  # logs of masses are kept above this, far below any that counts


class Shares:
    """Rows as A within B over all cells; sums of masses, slopes and bends in their logs."""

    def __init__(
        self, ends: npt.NDArray[np.bool_], window: npt.NDArray[np.bool_], count: Floats
    ) -> None:
        self.ends, self.window = ends.astype(np.float64), window.astype(np.float64)
        self.count = count
        self.lives = float(count.sum())
        self.size = ends.shape[1]

    def sums(self, mass: Floats) -> tuple[Floats, Floats]:
        """P(A) and P(B) of each row, for masses on any scale."""
        return self.ends @ mass, self.window @ mass

    def value(self, log_mass: Floats) -> float:
        """Log-likelihood."""
        inside, known = self.sums(np.exp(log_mass))
        with np.errstate(divide="ignore", invalid="ignore"):
            total = float(self.count @ (np.log(inside) - np.log(known)))
        return total if np.isfinite(total) else -np.inf

    def slope(self, mass: Floats) -> Floats:
        """Slope in each mass."""
        inside, known = self.sums(mass)
        return (self.count / inside) @ self.ends - (self.count / known) @ self.window

    def bend(self, mass: Floats) -> tuple[Floats, Floats]:
        """Minus the second derivatives in the log masses, and the size of their parts."""
        inside, known = self.sums(mass)
        own = mass * ((self.count / known) @ self.window)
        other = mass * ((self.count / inside) @ self.ends)
        a = self.ends * mass * (np.sqrt(self.count) / inside)[:, None]
        b = self.window * mass * (np.sqrt(self.count) / known)[:, None]
        bend = a.T @ a - b.T @ b
        bend[np.diag_indices(self.size)] += own - other
        return bend, own + other

    def gains(self, mass: Floats) -> Floats:
        """First-order gain, per life, of moving all of its smallest window into a cell.

        At most 0 at a maximum, for cells without mass beside those of all their windows.
        """
        inside, known = self.sums(mass)
        slope = (self.count / inside) @ self.ends - (self.count / known) @ self.window
        room = np.where(self.window > 0.0, known[:, None], np.inf).min(axis=0)
        empty = np.isfinite(room) & (mass < 1e-6 * room)
        return np.where(empty, slope * np.minimum(room, mass.sum()), 0.0) / self.lives

    def excess(self, mass: Floats) -> float:
        """Largest violation of the optimality conditions, as a share of the lives.

        For a cell with mass the slope in its log; for one without, its gain.
        """
        inside, known = self.sums(mass)
        slope = (self.count / inside) @ self.ends - (self.count / known) @ self.window
        wrong = np.maximum(np.abs(slope * mass) / self.lives, self.gains(mass))
        return float(wrong.max(initial=0.0))

    def among(self, kept: Mask) -> "Shares":
        """The rows over some of the cells, without those that may end in none of them."""
        ends = self.ends[:, kept] > 0.0
        able = ends.any(axis=1)
        return Shares(ends[able], self.window[able][:, kept] > 0.0, self.count[able])


def maximise_shares(shares: Shares, log_mass: Floats, *, steps: int = 300) -> Floats:
    """Log masses where the optimality conditions hold, from a start with mass everywhere."""
    theta = np.maximum(log_mass - log_mass.max(), _DEEP)
    value = shares.value(theta)
    for _ in range(steps):
        mass = np.exp(theta)
        slope = shares.slope(mass) * mass
        if np.abs(slope).max(initial=0.0) < 1e-13 * shares.lives:
            break
        move = _step(shares, mass, slope)
        new, found = _search(shares, theta, move, slope, value)
        if new is theta:
            break
        theta, value = np.maximum(new - new.max(), _DEEP), found
    return np.asarray(theta)


def _step(shares: Shares, mass: Floats, slope: Floats) -> Floats:
    """Newton step along every direction of the bend, upwards bends turned over."""
    bend, parts = shares.bend(mass)
    size = 1.0 / np.sqrt(np.maximum(parts, 1e-300))
    if shares.size <= 400:
        values, vectors = np.linalg.eigh(bend * size * size[:, None])
        along = vectors.T @ (size * slope)
        move = size * (vectors @ (along / np.maximum(np.abs(values), 1e-13)))
    else:
        move = _lifted(bend * size * size[:, None], size * slope) * size
    far = float(np.abs(move - np.median(move)).max(initial=0.0))
    return np.asarray(move * min(1.0, 20.0 / far) if far > 0.0 else move)


def _lifted(scaled: Floats, right: Floats) -> Floats:
    from scipy.linalg import LinAlgError, cho_factor, cho_solve

    lift = 1e-13
    while lift < 1e6:
        lifted = scaled.copy()
        lifted[np.diag_indices(len(right))] += lift
        try:
            factor = cho_factor(lifted, lower=True, overwrite_a=True, check_finite=False)
        except LinAlgError:
            lift *= 10.0
            continue
        return np.asarray(cho_solve(factor, right))
    return right


def _search(
    shares: Shares, theta: Floats, move: Floats, slope: Floats, value: float
) -> tuple[Floats, float]:
    """The longest halved step that raises the likelihood, or lowers its slopes where it is flat."""
    gain = float(slope @ move)
    steep = float(np.abs(slope).max())
    size = 1.0
    for _ in range(60):
        new = theta + size * move
        found = shares.value(new)
        if found >= value + 1e-4 * size * gain and found > value:
            return new, found
        if size * gain < 1e-9 * (1.0 + abs(value)) and np.isfinite(found):
            mass = np.exp(np.maximum(new - new.max(), _DEEP))
            if float(np.abs(shares.slope(mass) * mass).max()) < 0.9 * steep:
                return new, found
        size *= 0.5
    return theta, value


def levels(shares: Shares, mass: Floats) -> tuple[Mask, npt.NDArray[np.int64], bool]:
    """Which cells hold mass, the part each belongs to (-1: none), and whether a part vanished.

    Cells that share a window with weight in it are compared and form one part. A part whose every
    window shared with another is all but empty beside it vanishes: its own proportions stay
    known. Cells of vanished parts keep their number but are reported as not holding mass.
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    _, known = shares.sums(mass)
    share = shares.window * mass / known[:, None]
    row, cell = np.nonzero(share > 1e-7)
    rows, size = shares.window.shape
    table = coo_matrix((np.ones(len(row)), (row, cell + rows)), shape=(rows + size, rows + size))
    _, label = connected_components(table, directed=False)
    seen = np.zeros(size, dtype=bool)
    seen[cell] = True
    part = np.where(seen, label[rows:], -1)
    # a window that holds cells of another part belongs to a part above it
    owner = label[:rows]
    below = (shares.window > 0.0) & seen & (part[None, :] != owner[:, None])
    vanished = np.unique(np.broadcast_to(part, below.shape)[below])
    held = seen & ~np.isin(part, vanished)
    return held, part, len(vanished) > 0
