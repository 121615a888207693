"""Records as known on a date, with batch dates read off their date codes."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path

import polars as pl

from fleet.capacitors import earliest_made
from fleet.flow.kept import keeping, kept


def known_records(
    store: Path, kinds: Sequence[str], *, as_of: date | None, unit: str | None = None
) -> dict[str, pl.DataFrame]:
    """Known frames of `kinds`; a batch without a date of making takes the earliest day its date
    code can mean, which is all a build date needs (a board is no older than its parts). With
    `unit` only the rows about that one, of kinds that are about units.
    """
    from fleet.store import known
    from fleet.store.recent import known_again

    if keeping() and unit is None:
        records = known_again(store, kinds, as_of=as_of)
    else:
        records = known(store, kinds, as_of=as_of, unit=unit)
    if "batches" in records:
        told = records["batches"]
        records["batches"] = kept(
            "batches", (told,), as_of, lambda: _made_from_codes(told, as_of=as_of)
        )
    return records


def as_entered(store: Path, kinds: Sequence[str]) -> dict[str, pl.DataFrame]:
    """Known frames of `kinds` that stand now, just as they were entered; those that are kept
    already where answers are kept.
    """
    from fleet.store import known
    from fleet.store.recent import known_again

    return known_again(store, kinds) if keeping() else known(store, kinds)


def keep_answers(on: bool = True) -> None:
    """From now on, or no longer: keep what was read and reckoned while the records stand as they
    are. For programs that stay open.
    """
    from fleet.flow.kept import keep
    from fleet.store.recent import forget

    keep(on)
    if not on:
        forget()


def entered_later(store: Path, *, as_of: date, unit: str | None = None) -> tuple[str, ...]:
    """A sentence on reports and readings of `as_of` or before that were entered only later, so
    that nothing reckoned as of that day counts them; none where there are none. `unit`: of this
    one only.
    """
    own_day = pl.coalesce("date_latest", "date_earliest")
    later = (pl.col("entered_on") > as_of) & (own_day <= as_of)
    frames = known_records(store, ("reports", "readings"), as_of=None, unit=unit).values()
    count = sum(int(frame.select(later.sum()).item()) for frame in frames)
    if not count:
        return ()
    what = "1 record was" if count == 1 else f"{count:,} records were"
    of = "" if unit is None else f" on {unit}"
    return (f"{what} entered{of} after {as_of} about days before it: not counted here",)


def store_stamp(store: Path) -> str:
    """A text that changes with every write to the store, for caches."""
    from fleet.store import stamp

    return stamp(store)


def _made_from_codes(batches: pl.DataFrame, *, as_of: date | None) -> pl.DataFrame:
    silent = batches.filter(pl.col("made").is_null() & pl.col("date_code").is_not_null())[
        "date_code"
    ].unique()
    if silent.is_empty():
        return batches
    limit = as_of or date.max
    read = {code: earliest_made(code, not_after=limit) for code in silent}
    from_code = pl.col("date_code").replace_strict(read, default=None, return_dtype=pl.Date)
    return batches.with_columns(
        pl.when(pl.col("made").is_null())
        .then(pl.coalesce("made_earliest", from_code))
        .otherwise("made_earliest")
        .alias("made_earliest")
    )
