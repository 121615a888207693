"""A frame as a plain table for the screen: rounded, aligned, nothing cut off in silence."""

import textwrap
import unicodedata
from collections.abc import Iterator

import polars as pl

_GAP = "  "
_LONGEST_CELL = 1000
_NARROWEST_LAST = 24


def lay_out(frame: pl.DataFrame, *, width: int | None) -> tuple[Iterator[str], list[str]]:
    """Lines of a table, and what must be said about it.

    Numbers are rounded to what a person reads and stand to the right; unknown is empty. In a
    terminal of `width` columns a last column of text is wrapped, and columns that do not fit are
    left out and named. Without a width every row is one line.
    """
    notes: list[str] = []
    texts = frame.select(_as_text(frame[name]) for name in frame.columns)
    if any((texts[name].str.len_chars() > _LONGEST_CELL).any() for name in texts.columns):
        texts = texts.with_columns(pl.all().map_batches(_shorten, return_dtype=pl.String))
        notes.append("Long texts are shortened here; --csv and --json print them whole.")
    right = {name for name, dtype in frame.schema.items() if dtype.is_numeric()}
    widths = {name: max(cells(name), _widest(texts[name])) for name in texts.columns}
    if width is None:
        return _lines(texts, widths, right, None), notes
    kept = _what_fits(list(texts.columns), widths, width)
    dropped = [name for name in texts.columns if name not in kept]
    if dropped:
        notes.append(
            f"Not shown for want of width: {', '.join(dropped)}; --csv and --json print all."
        )
    return _lines(texts.select(kept), widths, right, width), notes


def cells(text: str) -> int:
    """How many columns of a terminal a text takes."""
    if text.isascii():
        return len(text)
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in text
    )


def _as_text(column: pl.Series) -> pl.Series:
    dtype, name = column.dtype, column.name
    if dtype == pl.List(pl.String):
        text = column.list.join(";")
    elif dtype == pl.Boolean:
        text = column.replace_strict({True: "yes", False: "no"}, return_dtype=pl.String)
    elif dtype.is_float():
        text = _rounded(column)
    else:
        text = column.cast(pl.String)
    # Control characters in a record must not drive the terminal, nor turn its line round.
    unsafe = r"[\x00-\x1f\x7f-\x9f\x{200e}\x{200f}\x{202a}-\x{202e}\x{2066}-\x{2069}]+"
    return text.fill_null("").str.replace_all(unsafe, " ").alias(name)


def _rounded(column: pl.Series) -> pl.Series:
    """Four significant figures, but whole numbers whole; plain notation where it stays short."""
    value = pl.col("v")
    size = value.abs()
    short = value.round_sig_figs(4).cast(pl.String).str.replace(r"\.0$", "")
    whole = value.round(0).cast(pl.Int64, strict=False).cast(pl.String)
    said = pl.when(value.is_finite()).then(
        pl.when((size >= 1000) & (size < 1e15)).then(whole).otherwise(short)
    )
    return pl.DataFrame({"v": column}).select(said).to_series()


def _shorten(column: pl.Series) -> pl.Series:
    length = pl.col("c").str.len_chars()
    cut = pl.format("{}… ({} characters)", pl.col("c").str.head(_LONGEST_CELL - 60), length)
    return (
        pl.DataFrame({"c": column})
        .select(pl.when(length > _LONGEST_CELL).then(cut).otherwise("c").alias(column.name))
        .to_series()
    )


def _plain(column: pl.Series) -> bool:
    return bool((column.str.len_bytes() == column.str.len_chars()).all())


def _widest(column: pl.Series) -> int:
    if _plain(column):
        longest = column.str.len_chars().max()
        return longest if isinstance(longest, int) else 0
    return max((cells(text) for text in column.unique()), default=0)


def _what_fits(columns: list[str], widths: dict[str, int], width: int) -> list[str]:
    """The first columns that fit; the last one may be squeezed, as it is wrapped."""
    *first, last = columns
    kept = list(columns)
    while len(kept) > 1:
        taken = sum(widths[name] + len(_GAP) for name in kept if name != last)
        need = min(widths[last], _NARROWEST_LAST) if last in kept else -len(_GAP)
        if taken + need <= width:
            break
        # The last column is words (a reason, a piece of advice): dropped only when alone it is
        # too wide beside the first.
        drop = first.pop() if len(first) > 1 else last
        kept.remove(drop)
    return kept


def _lines(
    texts: pl.DataFrame, widths: dict[str, int], right: set[str], width: int | None
) -> Iterator[str]:
    *front, last = texts.columns
    indent = sum(widths[name] + len(_GAP) for name in front)
    room = widths[last] if width is None else min(widths[last], max(width - indent, 1))
    head = pl.DataFrame(
        {name: [name, "-" * (room if name == last else widths[name])] for name in texts.columns}
    )
    for block in (head, texts):
        for part in block.iter_slices(50_000):
            starts = part.select(_pad(part[name], widths[name], name in right) for name in front)
            ends = (
                _pad(part[last], widths[last], to_the_right=True) if last in right else part[last]
            )
            if not front:
                yield from (f"{end}\n" for end in ends)
                continue
            joined = starts.select(pl.concat_str(pl.all(), separator=_GAP)).to_series()
            for start, end in zip(joined, ends, strict=True):
                yield f"{start}{_GAP}{_wrap(end, indent, room)}".rstrip() + "\n"


def _pad(column: pl.Series, width: int, to_the_right: bool) -> pl.Series:
    if _plain(column):
        return column.str.pad_start(width) if to_the_right else column.str.pad_end(width)
    padded = [text + " " * (width - cells(text)) for text in column]
    return pl.Series(column.name, padded, dtype=pl.String)


def _wrap(text: str, indent: int, room: int) -> str:
    if cells(text) <= room:
        return text
    # textwrap counts characters; where some take two cells, half as many fit for certain
    wide = any(unicodedata.east_asian_width(c) in "WF" for c in text)
    characters = max(room // 2, 1) if wide else room
    return ("\n" + " " * indent).join(textwrap.wrap(text, characters) or [""])
