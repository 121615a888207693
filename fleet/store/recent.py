"""Records as last read, brought up to date by what came since: for a program that stays open.

Reading every report of a large store anew after each one saved takes longer than saving it.
A frame given out is never changed, and the same one is given again for as long as it holds, so
that what was reckoned from it can be kept beside it.
"""

import threading
from bisect import bisect_left
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import polars as pl

from fleet.store.reads import sort_columns, standing
from fleet.store.session import reading
from fleet.store.statements import fetch, register, statement, statement_for

if TYPE_CHECKING:
    import duckdb

_MOST_BYTES = 1_500_000_000  # of frames kept in all
_FEW = 200  # rows come since that are put in their places; of more, all is read anew
_MOST_PIECES = 64  # a frame lies in
_AGAIN = r"~[0-9]+$"  # of a record entered once more


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Kept:
    """A frame, the state of the store it is of, and what tells whether that still holds."""

    stamp: str
    last: int  # number of the last import then
    before: str
    withdrawn: str
    frame: pl.DataFrame


_Key = tuple[str, str, date | None]
_kept: OrderedDict[_Key, _Kept] = OrderedDict()
_one_at_a_time = threading.Lock()


def known_again(
    path: Path, kinds: Sequence[str], *, as_of: date | None = None
) -> dict[str, pl.DataFrame]:
    """What `known` gives, and the very frames given last time where nothing of them changed."""
    name = str(path.resolve())

    def work(con: "duckdb.DuckDBPyConnection") -> dict[str, pl.DataFrame]:
        row = fetch(con, statement("stamp_and_last")).row(0, named=True)
        stamp, last = f"{row['writes']}-{row['token']}", int(row["last_import"])
        out = {}
        for kind in kinds:
            key = (name, kind, as_of)
            kept = _kept.get(key)
            if kept is None or kept.stamp != stamp:
                kept = _read(con, kind, as_of, kept, stamp, last)
                _keep(key, kept)
            _kept.move_to_end(key)
            out[kind] = kept.frame
        return out

    with _one_at_a_time:
        return reading(path, work)


def forget() -> None:
    """Let go of everything kept."""
    with _one_at_a_time:
        _kept.clear()


def _keep(key: _Key, kept: _Kept) -> None:
    _kept[key] = kept
    _kept.move_to_end(key)
    size = sum(int(one.frame.estimated_size()) for one in _kept.values())
    while size > _MOST_BYTES and len(_kept) > 1:
        _, gone = _kept.popitem(last=False)
        size -= int(gone.frame.estimated_size())


def _read(
    con: "duckdb.DuckDBPyConnection",
    kind: str,
    as_of: date | None,
    kept: _Kept | None,
    stamp: str,
    last: int,
) -> _Kept:
    frame = None
    since = last if kept is None else min(kept.last, last)
    came = fetch(con, statement_for("came_since", kind), {"last": since})
    if kept is not None and kept.last == since:
        same = came["before"][0] == kept.before and came["withdrawn"][0] == kept.withdrawn
        frame = _brought_up(con, kind, as_of, kept, came) if same else None
    if frame is None:
        frame = standing(con, kind, as_of)
    # Nothing can have come after the last import within one reading.
    return _Kept(
        stamp=stamp, last=last, before=came["now"][0], withdrawn=came["withdrawn"][0], frame=frame
    )


def _brought_up(
    con: "duckdb.DuckDBPyConnection",
    kind: str,
    as_of: date | None,
    kept: _Kept,
    came: pl.DataFrame,
) -> pl.DataFrame | None:
    """The frame with the rows that came; None where it is quicker or surer to read all anew."""
    came = came.filter(pl.col("record").is_not_null())
    if came.is_empty():
        return kept.frame
    if came.height > _FEW or came["record"].str.contains("~", literal=True).any():
        return None
    if _taken_back_before(con, came):
        return None
    entered = pl.col("entered_on")
    seen = came if as_of is None else came.filter(entered.is_null() | (entered <= as_of))
    new = standing(con, kind, as_of, imports=came["import_id"].unique().to_list())
    frame = kept.frame
    gone = seen["supersedes"].drop_nulls().str.replace(_AGAIN, "").unique()
    if gone.len():
        root = pl.col("record").str.replace(_AGAIN, "")
        staying = frame.filter(~root.is_in(gone.implode()))
        frame = frame if staying.height == frame.height else staying
    return frame if new.is_empty() else _put_in(frame, new)


def _taken_back_before(con: "duckdb.DuckDBPyConnection", came: pl.DataFrame) -> bool:
    """Whether one of the rows was taken back before it came, as copies of stores may tell it."""
    register(con, "came", came.select("record"))
    found = fetch(con, statement("taken_back_of"))
    con.unregister("came")
    return bool(found["held"][0])


def _put_in(frame: pl.DataFrame, new: pl.DataFrame) -> pl.DataFrame:
    """A sorted frame with new rows in their places."""
    columns = sort_columns(frame)
    keys = _Keys(frame.select(columns))
    places = [bisect_left(keys, _order(row)) for row in new.select(columns).iter_rows()]
    pieces, at = [], 0
    for n, place in enumerate(places):  # the new rows are sorted too
        pieces += [frame.slice(at, place - at), new.slice(n, 1)]
        at = place
    # Put together in memory now and then only: that takes longer than all the rest.
    made = pl.concat([*pieces, frame.slice(at)], rechunk=False)
    return made.rechunk() if made.n_chunks() > _MOST_PIECES else made


class _Keys(Sequence[Any]):
    """What the rows of a sorted frame are sorted by, for a search."""

    def __init__(self, frame: pl.DataFrame) -> None:
        self._frame = frame

    def __len__(self) -> int:
        return self._frame.height

    def __getitem__(self, place: Any) -> Any:  # noqa: ANN401
        return _order(self._frame.row(place))


def _order(row: tuple[Any, ...]) -> tuple[Any, ...]:
    """Nulls last; text as its bytes, as the frame is sorted."""
    return tuple(
        (value is None, value.encode() if isinstance(value, str) else value or "") for value in row
    )
