"""Who a row is: the hash of its content, and an id where the file gives none."""

import hashlib

import polars as pl

from fleet.frames import KINDS, REJECTED, empty_frame
from fleet.records.numbers import number_text
from fleet.records.raw import Cleaned, row_text
from fleet.records.write import as_text

_PREFIX = {
    "sources": "so", "models": "m", "positions": "p", "batches": "b", "units": "u",
    "reports": "r", "readings": "rd", "offers": "o", "stock": "st", "shop": "sh",
    "withdrawn": "w", "prices": "pr", "steps": "sp", "photos": "ph",
}  # fmt: skip
_BETWEEN = "\x1f"  # a control character: no cleaned cell holds one


def content_hash(frame: pl.DataFrame, kind: str) -> pl.Series:
    """Content hash of each row of a clean or known frame: 32 hex digits of BLAKE2b.

    The text hashed is the kind, then `column=value` for every column of the kind that is not
    blank, and for source and supersedes; dates by their text, numbers by their shortest digits,
    yes and no by name. So it is the same on every machine, and a column added later changes no
    hash of a row that leaves it blank. Not part of it: record, entered_on, by, file, line, and what
    is private (a row comes back from an export without it and is still the same row).
    """
    names = [column.name for column in KINDS[kind].columns if not column.private]
    names += [name for name in ("source", "supersedes") if name not in names]
    parts = [
        (pl.lit(f"{name}=") + _plain(frame[name])).alias(name)
        for name in names
        if frame[name].null_count() < frame.height
    ]
    texts = frame.select(
        pl.concat_str(
            [pl.lit(kind), *parts],
            separator=_BETWEEN,
            ignore_nulls=True,
        )
    ).to_series() if parts else pl.Series([kind] * frame.height, dtype=pl.String)  # fmt: skip
    digests = [hashlib.blake2b(t.encode(), digest_size=16).hexdigest() for t in texts.to_list()]
    return pl.Series("content", digests, dtype=pl.String)


def _plain(values: pl.Series) -> pl.Series:
    if values.dtype == pl.Float64:
        return number_text(values)
    if values.dtype == pl.Boolean:
        return values.replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)
    return values.cast(pl.String)


def identify(kept: pl.DataFrame, kind: str) -> Cleaned:
    """Fill in `content`, and `record` where it is blank: a few letters for the kind, a hyphen and
    the first 16 digits of the content hash. To be called when names are resolved.

    Rows that give an id which an earlier row of other content gives too are refused.
    """
    content = content_hash(kept, kind)
    made = f"{_PREFIX[kind]}-" + content.str.head(16)
    frame = kept.with_columns(content, kept["record"].fill_null(made).alias("record"))
    first = pl.col("content").first().over("record")
    clash = frame.select(pl.col("content") != first).to_series()
    if not clash.any():
        return Cleaned(kept=frame, rejected=empty_frame(REJECTED))
    said = pl.format(
        "another row has the id {} and says something else; give it its own id", "record"
    )
    reason = frame.select(pl.when(clash).then(said).alias("reason"))["reason"]
    return Cleaned(kept=frame.filter(~clash), rejected=refused_rows(frame, kind, reason))


def refused_rows(frame: pl.DataFrame, kind: str, reason: pl.Series) -> pl.DataFrame:
    """REJECTED rows: those of a clean frame that `reason` has a sentence for."""
    refused = frame.filter(reason.is_not_null())
    rows = refused.select(
        "file", "line",
        reason.drop_nulls().alias("reason"),
        cleaned_text(refused, kind).alias("row"),
    )  # fmt: skip
    return rows.select("file", pl.lit(kind).alias("kind"), "line", "reason", "row")


def cleaned_text(frame: pl.DataFrame, kind: str) -> pl.Series:
    """Rows of a clean frame as text, as `row_text` gives those of a file."""
    text = as_text(frame, kind)
    return text.select(row_text(text.columns)).to_series()
