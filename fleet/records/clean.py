"""Text tables to validated rows and refused rows; what is doubtful is refused, never guessed."""

from collections.abc import Iterable, Mapping
from datetime import date

import polars as pl

from fleet.frames import COMMON, KINDS, Column, clean_schema, private_columns
from fleet.records.cells import READERS, canonical
from fleet.records.dates import parse_edtf
from fleet.records.impossible import impossible
from fleet.records.meta import Meta
from fleet.records.raw import Cleaned, RawTable, reject_table, row_text

_NOBODY = Meta()


def clean(
    raw: RawTable,
    *,
    today: date,
    meta: Meta = _NOBODY,
    hemispheres: Mapping[str, str] | None = None,
) -> Cleaned:
    """Validate a text table column by column.

    `kept` has clean_schema(raw.kind), with `record` null where the file gives none and `content`
    null until `identify`. `rejected` (REJECTED) has every other row, with all that is wrong with
    it; rows in = kept + rejected. A blank source is `meta.source`. `hemispheres` gives north or
    south by source name (see `hemispheres_of`), for the seasons; `meta.hemisphere` is for its own
    source.

    The latest day of a record's own date is no later than entered_on, else `today`: nobody reports
    the future. A blank entered_on is the latest day of the own date, marked `reconstructed`; null
    for kinds without one.
    """
    text = _text_columns(raw, meta)
    south = _south(text["source"], meta, hemispheres or {})
    values: dict[str, pl.Series] = {}
    reasons: list[pl.Series] = []
    for column in _all_columns(raw.kind):
        cell = text[column.name]
        if column.required:
            blank = f"{column.name} is blank; fill it in"
            reasons.append(pl.select(pl.when(cell.is_null()).then(pl.lit(blank))).to_series())
        if cell.null_count() == len(cell):
            values |= _nothing(column, len(cell))
        elif column.form == "date":
            read, reason = _read_date(column.name, cell, south)
            values |= read
            reasons.append(reason)
        else:
            value, reason = READERS[column.form](column, cell, kind=raw.kind)
            values[column.name] = value
            reasons.append(reason)
    entered, reason = _whole_day(values)
    frame = pl.DataFrame(values).with_columns(
        entered.alias("entered_on"),
        reconstructed=entered.is_null(),
        file=pl.lit(raw.file),
        line=raw.frame["line"],
        content=pl.lit(None, pl.String),
    )
    frame = _bounded(frame, raw.kind, today)
    reasons.append(reason)
    return _split(raw, frame, reasons, today)


def _all_columns(kind: str) -> list[Column]:
    own = {column.name for column in KINDS[kind].columns}
    return [*(c for c in COMMON if c.name not in own), *KINDS[kind].columns]


def _text_columns(raw: RawTable, meta: Meta) -> pl.DataFrame:
    """Every column of the kind as canonical text, blank where the file has none."""
    nothing = pl.Series([None] * raw.frame.height, dtype=pl.String)
    out = {
        column.name: canonical(raw.frame[column.name])
        if column.name in raw.frame.columns
        else nothing
        for column in _all_columns(raw.kind)
    }
    if meta.source is not None and raw.kind != "sources":
        out["source"] = out["source"].fill_null(meta.source)
    return pl.DataFrame(out)


def _south(source: pl.Series, meta: Meta, hemispheres: Mapping[str, str]) -> pl.Series:
    known = dict(hemispheres)
    if meta.source is not None and meta.hemisphere is not None:
        known.setdefault(meta.source, meta.hemisphere)
    names = [name for name, half in known.items() if half.strip().lower() == "south"]
    return source.is_in(names).fill_null(value=False)


def _nothing(column: Column, height: int) -> dict[str, pl.Series]:
    null = pl.Series([None] * height, dtype=pl.Null)
    if column.form != "date":
        return {column.name: null}
    return {column.name: null, f"{column.name}_earliest": null, f"{column.name}_latest": null}


def _read_date(
    name: str, cell: pl.Series, south: pl.Series
) -> tuple[dict[str, pl.Series], pl.Series]:
    read = parse_edtf(cell)
    if south.any():
        there = parse_edtf(cell, hemisphere="south")
        read = pl.DataFrame([there[c].zip_with(south, read[c]) for c in read.columns])
    values = {
        name: cell,
        f"{name}_earliest": read["earliest"],
        f"{name}_latest": read["latest"],
    }
    return values, (name + " " + read["reason"]).alias("reason")


def _whole_day(values: dict[str, pl.Series]) -> tuple[pl.Series, pl.Series]:
    """entered_on as a day, and the reason where the text is a date but no whole day."""
    text = values.pop("entered_on")
    earliest, latest = values.pop("entered_on_earliest"), values.pop("entered_on_latest")
    frame = pl.DataFrame({"text": text, "a": earliest, "b": latest})
    whole = pl.col("a").eq_missing(pl.col("b"))
    out = frame.select(
        pl.when(whole).then("a").cast(pl.Date).alias("day"),
        pl.when(~whole)
        .then(pl.format("entered_on '{}' is not one day; write it as 2026-11-25", "text"))
        .cast(pl.String)
        .alias("reason"),
    )
    return out["day"], out["reason"]


def _bounded(frame: pl.DataFrame, kind: str, today: date) -> pl.DataFrame:
    """The frame in its contract, its own date bounded and entered_on filled in from it."""
    frame = frame.select(pl.col(name).cast(dtype) for name, dtype in clean_schema(kind).items())
    own = KINDS[kind].own_date
    if own is None:
        return frame
    bound = pl.min_horizontal(pl.col("entered_on").fill_null(today), pl.lit(today))
    latest = pl.min_horizontal(pl.col(f"{own}_latest"), bound)
    frame = frame.with_columns(
        pl.when(pl.col(own).is_not_null()).then(latest).alias(f"{own}_latest")
    )
    return frame.with_columns(pl.col("entered_on").fill_null(pl.col(f"{own}_latest")))


def _split(raw: RawTable, frame: pl.DataFrame, reasons: list[pl.Series], today: date) -> Cleaned:
    told = [reason for reason in reasons if reason.null_count() < len(reason)]
    by_cell = pl.DataFrame([s.alias(f"r{i}") for i, s in enumerate(told)])
    by_row = frame.select(
        rule.cast(pl.String).alias(f"i{i}")
        for i, rule in enumerate(impossible(raw.kind, today=today))
    )
    all_reasons = pl.concat([by_cell, by_row], how="horizontal")
    reason = all_reasons.select(
        pl.when(pl.any_horizontal(pl.all().is_not_null())).then(
            pl.concat_str(pl.all(), separator="; ", ignore_nulls=True)
        ).alias("reason")
    )["reason"]  # fmt: skip
    bad = reason.is_not_null()
    hidden = ("line", *private_columns(raw.kind))
    cells = [name for name in raw.frame.columns if name not in hidden]
    refused = raw.frame.filter(bad).with_columns(
        row_text(cells).alias("row"), reason.filter(bad).alias("reason")
    )
    rejected = pl.concat([raw.rejected, reject_table(raw.file, raw.kind, refused)])
    return Cleaned(kept=frame.filter(~bad), rejected=rejected.sort("line"), notes=raw.notes)


def hemispheres_of(
    tables: Iterable[RawTable], *, known: pl.DataFrame | None = None, meta: Meta = _NOBODY
) -> dict[str, str]:
    """Hemisphere by source name, from the sources the store knows (known_schema), `meta` and the
    sources tables of the same import, the later ones first.
    """
    out: dict[str, str] = {}
    if known is not None:
        rows = known.filter(pl.col("hemisphere").is_not_null())
        out |= dict(rows.select("source", "hemisphere").iter_rows())
    if meta.source is not None and meta.hemisphere is not None:
        out[meta.source] = meta.hemisphere
    for table in tables:
        if table.kind == "sources" and "hemisphere" in table.frame.columns:
            pairs = table.frame.select(
                canonical(table.frame["source"]), canonical(table.frame["hemisphere"])
            ).drop_nulls()
            out |= dict(pairs.iter_rows())
    return out


def raise_entered_on(kept: pl.DataFrame, enrolled: pl.DataFrame) -> pl.DataFrame:
    """Reconstructed rows of a kind with a unit: entered no earlier than the unit's enrolment.

    `enrolled` has unit and enrolled_on_latest (Date), one row per unit. Returns `kept` with the
    same rows in the same order.
    """
    joined = kept.join(
        enrolled.select("unit", pl.col("enrolled_on_latest").alias("_enrolled")).unique("unit"),
        on="unit",
        how="left",
        maintain_order="left",
    )
    later = pl.max_horizontal("entered_on", "_enrolled")
    return joined.with_columns(
        pl.when("reconstructed").then(later).otherwise("entered_on").alias("entered_on")
    ).drop("_enrolled")
