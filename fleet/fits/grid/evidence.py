"""The lives of one model as arrays, sorted by cell: one batch of original or replaced parts."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import polars as pl

from fleet.fits.grid.stress import Site

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Evidence:
    """Rows of the life table of one model. Ages in units of `origin`; NaN where null.

    `other_low` and `other_chance` belong to failures of unknown cause: by which age the set would
    have been watched had the cause been another, and how likely a failure of another cause is in
    the same place (a rate a unit of age for an exact age, a chance for an interval). `forgetful`:
    known because it failed, by a source that never said since when it collects failures.
    """

    cell: Ints
    entry: Floats
    low: Floats
    high: Floats
    known_by: Floats
    count: Floats
    other_low: Floats
    other_chance: Floats
    forgetful: Mask
    site: Site
    cells: int
    origin: float
    year: float

    @property
    def origin_years(self) -> float:
        """The unit of the ages in years."""
        return self.origin / self.year

    @property
    def unsure(self) -> Mask:
        """Failures of unknown cause."""
        return ~np.isnan(self.other_low)

    @property
    def mixed(self) -> Mask:
        """Rows whose likelihood is an average: something blank, or the cause unknown."""
        return np.asarray(self.site.blank | self.unsure)

    @property
    def failures(self) -> float:
        """How many failures there are, those of unknown cause included."""
        return float(self.count[~np.isnan(self.high)].sum())

    def take(self, rows: Mask) -> "Evidence":
        """Some of the rows."""
        return Evidence(
            cell=self.cell[rows],
            entry=self.entry[rows],
            low=self.low[rows],
            high=self.high[rows],
            known_by=self.known_by[rows],
            count=self.count[rows],
            other_low=self.other_low[rows],
            other_chance=self.other_chance[rows],
            forgetful=self.forgetful[rows],
            site=self.site.take(rows),
            cells=self.cells,
            origin=self.origin,
            year=self.year,
        )


def evidence_of(lives: pl.DataFrame, *, cells: int, origin: float, year: float) -> Evidence:
    """Evidence of one model from its lives, which have a column `cell` (0 to cells - 1)."""
    frame = lives.sort("cell")

    def ages(name: str) -> Floats:
        return numbers(name) / origin

    def numbers(name: str) -> Floats:
        return np.array(frame[name].cast(pl.Float64).fill_null(np.nan).to_numpy())

    failed = frame["known_by"].is_not_null().to_numpy()
    return Evidence(
        cell=frame["cell"].cast(pl.Int64).to_numpy(),
        entry=ages("entry"),
        low=ages("low"),
        high=ages("high"),
        known_by=ages("known_by"),
        count=numbers("count"),
        other_low=ages("other_low"),
        other_chance=np.where(
            frame["low"].eq_missing(frame["high"]).to_numpy(),
            numbers("other_chance") * origin,  # a rate
            numbers("other_chance"),
        ),
        forgetful=frame["forgetful"].to_numpy() & failed,
        site=Site.of(numbers("ambient_c"), numbers("hours_per_year"), numbers("count")),
        cells=cells,
        origin=origin,
        year=year,
    )
