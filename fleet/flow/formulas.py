"""Texts that a spreadsheet would run: in a CSV file for people they are quoted as texts.

A cell that begins with an equals sign, plus, minus, at sign, tab or carriage return is taken for
a formula when a CSV file is opened (OWASP, "CSV Injection"); in some programs also one that
begins with a bar or a percent sign. A leading apostrophe makes a text of it. Numbers stay as
they are. XLSX says of each cell what it is and needs none of this.
"""

import polars as pl

_BEGINS = r"^(?:\s*[=+\-@|%]|[\t\r])"
_NUMBER = r"^\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?\s*$"


def like_formulas(text: pl.Expr) -> pl.Expr:
    """Whether a spreadsheet may take a text for a formula."""
    return text.str.contains(_BEGINS) & ~text.str.contains(_NUMBER)


def quoted_csv(frame: pl.DataFrame) -> str:
    """A table as CSV with its header; no text in it is taken for a formula."""
    heads = {name: quoted(name) for name in frame.columns}
    texts = pl.col(pl.String)
    quoted_texts = pl.when(like_formulas(texts)).then("'" + texts).otherwise(texts).name.keep()
    return frame.with_columns(quoted_texts).rename(heads).write_csv()


def quoted(text: str) -> str:
    """A text as a cell that is not taken for a formula."""
    runs = pl.select(like_formulas(pl.lit(text))).item()
    return f"'{text}" if runs else text
