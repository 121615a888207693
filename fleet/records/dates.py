"""Dates of several precisions: EDTF text to an earliest and a latest day.

The Library of Congress' Extended Date/Time Format (2019, the same as ISO 8601-2:2019 Annex A):
level 0 without times, and of level 1 the signs ~ ? %, X from the right, seasons, and intervals
with open ends. Declared conventions, which the standard leaves open:

- `~ ? %` widen by one unit of the date's own precision on each side: a day, a month, a season
  (three months), a year, a decade (199X), a century (19XX). `1998-XX` is a year.
- `-24` is December of that year to the following February. In the south the season keeps its
  meaning: `-21` is September to November, `-22` December to the following February, `-23` March
  to May and `-24` June to August of that year.

Own code, not the edtf library: that takes 10 ms a value, widens `1998-07~` by a year as well and
`1998%` twice, takes 1998-02-29 for a day and `1998/` for ten years. The tests hold what we read
against it where the two should agree.
"""

import re
from collections.abc import Sequence
from datetime import date
from typing import Literal

import polars as pl

Hemisphere = Literal["north", "south"]

BOUNDS = pl.Schema({"earliest": pl.Date(), "latest": pl.Date(), "reason": pl.String()})

_PART = (
    r"^(?<year>\d{4}|\d{3}X|\d{2}XX)"
    r"(?:-(?<month>\d{2}|XX)(?:-(?<day>\d{2}|XX))?)?(?<sign>[~?%])?$"
)
_SEASON_STARTS = {
    "north": {"21": 3, "22": 6, "23": 9, "24": 12},
    "south": {"21": 9, "22": 12, "23": 3, "24": 6},
}
_FIRST, _LAST = date(1, 1, 1), date(9999, 12, 31)


def parse_edtf(
    texts: pl.Series | Sequence[str | None], *, hemisphere: str = "north"
) -> pl.DataFrame:
    """Earliest and latest day of each text, in the order given.

    Columns earliest and latest (Date; null: an open end, or no date) and reason (String; why the
    text was refused, else null). Null and blank texts are null throughout. Each different text is
    worked out once.
    """
    series = pl.Series("text", texts, dtype=pl.String).str.strip_chars()
    series = series.set(series == "", None)
    unique = series.drop_nulls().unique()
    if unique.is_empty():
        return pl.DataFrame(schema=BOUNDS).clear(len(series))
    read = _read(unique, hemisphere)
    return (
        series.to_frame("text")
        .join(read, on="text", how="left", maintain_order="left")
        .select(BOUNDS.names())
    )


def _read(unique: pl.Series, hemisphere: str) -> pl.DataFrame:
    """text, earliest, latest, reason for texts that differ."""
    pieces = pl.DataFrame({"text": unique}).with_columns(
        pl.col("text").str.split("/").alias("ends"),
    )
    pieces = pieces.select(
        "text",
        pl.col("ends").list.len().alias("count"),
        pl.col("ends").list.get(0).alias("start"),
        pl.col("ends").list.get(-1).alias("end"),
    )
    start = _bounds(pieces["start"], hemisphere)
    end = _bounds(pieces["end"], hemisphere)
    frame = pl.concat(
        [pieces, start.rename(lambda c: f"start_{c}"), end.rename(lambda c: f"end_{c}")],
        how="horizontal",
    )
    open_start, open_end = pl.col("start") == "..", pl.col("end") == ".."
    backwards = (pl.col("start_earliest") > pl.col("end_latest")).fill_null(value=False)
    single = (pl.col("count") == 1) & pl.col("start_ok")
    double = (
        (pl.col("count") == 2)
        & (pl.col("start_ok") | open_start)
        & (pl.col("end_ok") | open_end)
        & ~(open_start & open_end)
        & ~backwards
    )
    frame = frame.with_columns((single | double).alias("ok"))
    bad = frame.filter(~pl.col("ok"))["text"]
    reasons = pl.DataFrame(
        {"text": bad, "reason": [explain(text) for text in bad.to_list()]},
        schema={"text": pl.String(), "reason": pl.String()},
    )
    return frame.select(
        "text",
        pl.when("ok").then("start_earliest").alias("earliest"),
        pl.when("ok").then("end_latest").alias("latest"),
    ).join(reasons, on="text", how="left")


def _bounds(parts: pl.Series, hemisphere: str) -> pl.DataFrame:
    """earliest, latest, ok for single dates (no interval)."""
    frame = parts.str.extract_groups(_PART).struct.unnest()
    year, month, day = pl.col("year"), pl.col("month"), pl.col("day")
    season = month.is_in(["21", "22", "23", "24"])
    first_month = month.replace(_SEASON_STARTS[hemisphere]).cast(pl.Int8, strict=False).fill_null(1)
    frame = frame.with_columns(
        year.str.replace_all("X", "0").cast(pl.Int32).alias("y"),
        first_month.alias("m"),
        day.cast(pl.Int8, strict=False).fill_null(1).alias("d"),
        pl.when(year.str.ends_with("XX")).then(1200)
        .when(year.str.ends_with("X")).then(120)
        .when(month.is_null() | (month == "XX")).then(12)
        .when(season).then(3)
        .when(day.is_null() | (day == "XX")).then(1)
        .otherwise(0)
        .alias("months"),
        season.fill_null(value=False).alias("season"),
    )  # fmt: skip
    ok = (
        (pl.col("y") >= 1)
        & (~year.str.contains("X") | month.is_null())
        & ((month != "XX") | day.is_null() | (day == "XX")).fill_null(value=True)
        & pl.col("m").is_between(1, 12)
        & (~pl.col("season") | day.is_null())
    ).fill_null(value=False)
    frame = frame.with_columns(ok.alias("ok")).with_columns(
        pl.when("ok").then(pl.date(pl.when("ok").then("y"), pl.when("ok").then("m"), 1))
        .alias("begin"),
    ).with_columns(
        (pl.col("ok") & pl.col("d").is_between(1, pl.col("begin").dt.month_end().dt.day()))
        .fill_null(value=False)
        .alias("ok"),
    )  # fmt: skip
    return _widened(frame)


def _widened(frame: pl.DataFrame) -> pl.DataFrame:
    begin = pl.col("begin") + pl.duration(days=pl.col("d") - 1)
    step = pl.when(pl.col("months") > 0).then(pl.format("{}mo", "months")).otherwise(pl.lit("1d"))
    after = begin.dt.offset_by(step)
    signed = pl.col("sign").is_not_null()
    earliest = pl.when(signed).then(begin.dt.offset_by(pl.format("-{}", step))).otherwise(begin)
    last = pl.when(signed).then(after.dt.offset_by(step)).otherwise(after).dt.offset_by("-1d")
    return frame.select(
        pl.when("ok").then(earliest.clip(_FIRST, _LAST)).alias("earliest"),
        pl.when("ok").then(last.clip(_FIRST, _LAST)).alias("latest"),
        "ok",
    )


_LIKELY = (
    (r"\d{1,2}[./-]\d{1,2}[./-]\d{2,4}", "has the year last; write year-month-day, as 1998-07-14"),
    (r"\d{4}[./]\d{1,2}[./]\d{1,2}", "has no hyphens; write year-month-day, as 1998-07-14"),
    (r"\d{4}-\d{1,2}(-\d{1,2})?[~?%]?", "is no day of the calendar or lacks a nought; "
     "write month and day with two digits, as 1998-07-04"),
    (r"\d{8}|\d{6}", "has no hyphens; write 1998-07-14 or 1998-07"),
    (r"\d{2}", "has no century; write the year with four digits, as 1998"),
    (r"\d{4}-\d{2}-\d{2}[T ].*", "has a time of day; write the day alone, as 1998-07-14"),
    (r"[\dxX-]*x[\dxX-]*", "has a small x; write a capital X, as 199X"),
    (r"\d*[uU]+", "has a u; write X for a digit that is not known, as 199X"),
    (r"\S*/|/\S*", "has an end that is blank; write .. for an open end, as 1998/.. or ../2003"),
    (r"\.\./\.\.", "is open at both ends; leave the cell blank"),
    (r"[\[{].*", "is a set of dates; write an interval, as 1998/2001"),
    (r".*[^\W\d_]{3,}.*", "has words; write it in figures, as 1998-07"),
)  # fmt: skip


def explain(text: str) -> str:
    """Why a text was refused as a date, and how to write it."""
    shown = text if len(text) <= 40 else f"{text[:40]}..."
    ends = text.split("/")
    if len(ends) == 2 and all(re.fullmatch(r"\d{4}(-\d{2}){0,2}", end) for end in ends):
        if ends[0] > ends[1]:
            return f"{shown!r} ends before it begins; write the earlier date first"
        return f"{shown!r} holds a day that is not in the calendar; look at both ends"
    for pattern, advice in _LIKELY:
        if re.fullmatch(pattern, text[:80], flags=re.DOTALL):
            return f"{shown!r} {advice}"
    return (
        f"{shown!r} is no date that can be read; "
        "write 1998, 1998-07, 1998-07-14, 199X, 1998~ or 1998/2001"
    )
