"""An offer typed in that contradicts what is on record of the same part."""

from pathlib import Path

import polars as pl

from fleet.errors import BadInput


def refuse_other_facts(store: Path, kind: str, frame: pl.DataFrame) -> None:
    """BadInput for an offer (clean rows of the kind) of a part whose other offers tell other facts.

    An import keeps such rows; no verdict and no order goes by them until one is amended.
    """
    if kind != "offers":
        return
    from fleet.capacitors.told_twice import told_twice
    from fleet.store import known

    held = known(store, [kind])[kind].join(frame.select("part"), on="part", how="semi")
    both = pl.concat([held, frame], how="diagonal_relaxed")
    already = set(told_twice(held)["part"])
    for part, sentence in told_twice(both).iter_rows():
        if part not in already:
            raise BadInput(f"{part} is on record with other facts: {sentence}")
