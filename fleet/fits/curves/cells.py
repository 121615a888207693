"""The cells in which a non-parametric estimate can put its mass, and which rows see them."""

from dataclasses import dataclass

import numpy as np

from fleet.fits.rows import Floats, Ints, Mask, Rows, group_sum


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Cells:
    """Innermost intervals of one group, and its distinct rows as ranges of them.

    `left`, `right`: ages; a cell is (left, right], a point where they are equal. Every row
    passes the cells `entered` to `first - 1` alive; a failed one ends in one of `first` to
    `last - 1`; one known only because it failed would not be known had it passed `known`.
    `endless`: a further cell without right end holds what survives them all.
    """

    left: Floats
    right: Floats
    entered: Ints
    first: Ints
    last: Ints
    known: Ints
    failed: Mask
    truncated: Mask
    count: Floats
    endless: bool

    @property
    def size(self) -> int:
        """How many cells end at a finite age."""
        return len(self.right)


def find_cells(rows: Rows) -> Cells:
    """Innermost intervals of the rows of one group.

    Turnbull (1976), J. R. Statist. Soc. B 38:290-295, with the ends of the truncation windows
    among the end points as corrected by Alioum and Commenges (1996), Biometrics 52:512-524: an
    entry counts as a right end, a known_by as a left end.
    """
    failed, truncated = ~np.isnan(rows.high), ~np.isnan(rows.known_by)
    exact = rows.high == rows.low
    ages = np.unique(
        np.concatenate([rows.entry, rows.low, rows.high[failed], rows.known_by[truncated]])
    )

    def place(values: Floats) -> Ints:
        # just after the age; an exact failure starts one place earlier, just before it
        return 2 * np.searchsorted(ages, np.where(np.isnan(values), ages[0], values)) + 1

    endless_place = 2 * len(ages) + 1
    entry, left = place(rows.entry), place(rows.low) - exact
    right = np.where(failed, place(rows.high), endless_place)
    known = np.where(truncated, place(rows.known_by), endless_place)
    lefts = np.unique(np.concatenate([left, known[truncated]]))
    rights = np.unique(np.concatenate([right, entry]))
    # at one place ends come before starts; a start followed by an end is a cell
    all_places = np.concatenate([rights, lefts])
    starts = np.concatenate([np.zeros(len(rights), bool), np.ones(len(lefts), bool)])
    order = np.lexsort((starts, all_places))
    all_places, starts = all_places[order], starts[order]
    cell = np.flatnonzero(starts[:-1] & ~starts[1:])
    cell_left, cell_right = all_places[cell], all_places[cell + 1]
    endless = bool(len(cell_right)) and int(cell_right[-1]) == endless_place
    if endless:
        cell_left, cell_right = cell_left[:-1], cell_right[:-1]
    size = len(cell_right)
    table = np.stack(
        [
            np.searchsorted(cell_left, entry),
            np.searchsorted(cell_left, left),
            np.where(failed, np.searchsorted(cell_right, right, "right"), size),
            np.where(truncated, np.searchsorted(cell_right, known, "right"), size),
            failed,
            truncated,
        ]
    )
    distinct, which = np.unique(table, axis=1, return_inverse=True)
    count = group_sum(which.ravel(), rows.count, distinct.shape[1])
    entered, first, last, known_cell, has_failed, is_truncated = distinct
    return Cells(
        left=ages[cell_left // 2],
        right=ages[(cell_right - 1) // 2],
        entered=entered,
        first=first,
        last=last,
        known=known_cell,
        failed=has_failed.astype(bool),
        truncated=is_truncated.astype(bool),
        count=count,
        endless=endless,
    )
