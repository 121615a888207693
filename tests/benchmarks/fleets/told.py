"""Events as they happened and who heard of them, before they are written down as records."""

import numpy as np
import polars as pl
from numpy.typing import NDArray

from fleets.life import Floats
from fleets.world import Flags, Whole

EVENTS = pl.Schema(
    {
        "machine": pl.Int64(),
        "day": pl.Float64(),  # on which it was seen
        "entered": pl.Float64(),  # null: on that day
        "kind": pl.String(),
        "cause": pl.String(),  # the true one
        "dead": pl.Boolean(),  # found dead, so `day` is not when it failed
        "last_seen": pl.Float64(),  # last known working, where told
        "because": pl.String(),
        "positions": pl.String(),  # null: all
        "wear_1": pl.Float64(),  # age in scales of each position then, where the machine was seen
        "wear_2": pl.Float64(),
    }
)
_POSITIONS = np.array(["C1", "C2"])


class Told:
    """A list of events that grows."""

    def __init__(self) -> None:
        self._parts: list[pl.DataFrame] = []

    def add(
        self,
        machine: Whole,
        day: Floats,
        kind: str,
        *,
        entered: Floats | None = None,
        cause: str | None = None,
        dead: Flags | None = None,
        last_seen: Floats | None = None,
        because: str | None = None,
        positions: NDArray[np.str_] | None = None,
        wear: Floats | None = None,
    ) -> None:
        """Events of one kind, one for each machine named. An empty position text means all;
        `wear` has two columns.
        """
        if not len(machine):
            return
        columns = {
            "machine": machine,
            "day": day,
            "entered": entered,
            "kind": pl.repeat(kind, len(machine), eager=True),
            "cause": pl.repeat(cause, len(machine), dtype=pl.String, eager=True),
            "dead": dead,
            "last_seen": last_seen,
            "because": pl.repeat(because, len(machine), dtype=pl.String, eager=True),
            "positions": positions,
            "wear_1": None if wear is None else wear[:, 0],
            "wear_2": None if wear is None else wear[:, 1],
        }
        nothing = {
            c: pl.repeat(None, len(machine), eager=True) for c, v in columns.items() if v is None
        }
        frame = pl.DataFrame(columns | nothing).select(
            pl.col(c).cast(dtype) for c, dtype in EVENTS.items()
        )
        self._parts.append(
            frame.with_columns(
                pl.col("last_seen").fill_nan(None),
                pl.when(pl.col("positions") != "").then("positions").alias("positions"),
            )
        )

    def frame(self) -> pl.DataFrame:
        """All events so far."""
        return pl.concat([pl.DataFrame(schema=EVENTS), *self._parts])


def position_names(place: Whole, partly: Flags) -> NDArray[np.str_]:
    """The position renewed where a set was renewed in part, else an empty text."""
    return np.where(partly, _POSITIONS[place], "")
