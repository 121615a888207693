"""What changed, in sentences."""

from datetime import date

import polars as pl

from fleet.flow.changed_rows import WHAT

_NAMED = 6  # names in one sentence


def changed_words(frame: pl.DataFrame, *, since: date, batches: bool = True) -> tuple[str, ...]:
    """One sentence for each kind of change there is; one where nothing changed."""
    if frame.is_empty():
        looked = "" if batches else " Verdicts on batches were not looked at."
        return (f"Nothing was entered and no answer changed since {since}.{looked}",)
    said = []
    for what, (one, many) in WHAT.items():
        rows = frame.filter(what=what)
        if rows.is_empty():
            continue
        names = rows["name"].unique(maintain_order=True).to_list()
        some = ", ".join(names[:_NAMED])
        more = f" and {len(names) - _NAMED:,} more" if len(names) > _NAMED else ""
        said.append(f"{rows.height:,} {one if rows.height == 1 else many}: {some}{more}.")
    return tuple(said)
