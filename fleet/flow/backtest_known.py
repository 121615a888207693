"""What a store knew on past days, and how sure it is that it knew it then."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from fleet.flow.answers import READ
from fleet.flow.known import known_records

Records = Mapping[str, pl.DataFrame]
_OF_UNITS = ("units", "reports")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Past:
    """Records as known today and on any past day.

    `at` gives the records (kinds of answers.READ) of a past day; `now` those known today, from
    which what happened is read; `first` is the day the first report was known, null without any;
    `last` that of the last report; `late` the median of days between a report's own date and its
    entry, where the entry has a day of its own.
    """

    now: Records
    at: Callable[[date], Records]
    first: date | None
    last: date | None
    late: float | None


def past_of(store: Path, *, as_of: date, as_dated: bool = False) -> Past:
    """The past of a store, as of a day that stands for today.

    `as_dated`: every record counts as entered on its own date, or when its unit was enrolled,
    whatever day of entry it has; models, batches, positions and sources count as always known.
    """
    now = known_records(store, READ, as_of=as_of)
    if as_dated:
        return past_of_records(_as_dated(now), as_of=as_of)

    def at(day: date) -> Records:
        return known_records(store, READ, as_of=day)

    return _past(now, at, as_of=as_of)


def past_of_records(now: Records, *, as_of: date) -> Past:
    """The past of records without corrections: their days of entry alone say what was known."""
    return _past(now, lambda day: _entered(now, day), as_of=as_of)


def share_reconstructed(records: Records) -> float | None:
    """Share of units and reports whose day of entry only stands in for a missing one."""
    parts = [records[k].select("reconstructed") for k in _OF_UNITS if k in records]
    told = pl.concat(parts)["reconstructed"] if parts else pl.Series(dtype=pl.Boolean)
    if told.is_empty():
        return None
    return float(told.fill_null(value=False).sum()) / len(told)


def _past(now: Records, at: Callable[[date], Records], *, as_of: date) -> Past:
    reports = now["reports"].select(
        "reconstructed", "entered_on",
        own=pl.coalesce("date_latest", "date_earliest"),
        known=pl.max_horizontal("entered_on", pl.coalesce("date_latest", "date_earliest")),
    ).filter(pl.col("own") <= as_of)  # fmt: skip
    own = reports.filter(~pl.col("reconstructed").fill_null(value=False))
    late = (own["entered_on"] - own["own"]).dt.total_days().drop_nulls().to_numpy()
    return Past(
        now=now,
        at=at,
        first=reports["known"].to_frame().select(pl.col("known").min()).item(),
        last=reports["own"].to_frame().select(pl.col("own").max()).item(),
        late=float(sorted(late)[len(late) // 2]) if len(late) else None,
    )


def _entered(now: Records, day: date) -> Records:
    by_then = pl.col("entered_on").is_null() | (pl.col("entered_on") <= day)
    return {kind: frame.filter(by_then) for kind, frame in now.items()}


def _as_dated(now: Records) -> Records:
    nothing = pl.lit(None, dtype=pl.Date)
    enrolled = now["units"].select(
        "unit", enrolled=pl.coalesce("enrolled_on_latest", "enrolled_on_earliest")
    ).unique("unit", keep="first", maintain_order=True)  # fmt: skip
    own = pl.coalesce("date_latest", "date_earliest")
    dated = (
        now["reports"]
        .join(enrolled, on="unit", how="left", maintain_order="left")
        .with_columns(entered_on=pl.max_horizontal(own, "enrolled"), reconstructed=pl.lit(True))
        .drop("enrolled")
    )
    units = now["units"].with_columns(
        entered_on=pl.coalesce("enrolled_on_latest", "enrolled_on_earliest"),
        reconstructed=pl.lit(True),
    )
    rest = {
        kind: frame.with_columns(entered_on=nothing)
        for kind, frame in now.items()
        if kind not in _OF_UNITS
    }
    return {**rest, "units": units, "reports": dated}
