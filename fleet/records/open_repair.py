"""Repair data in the Open Repair Data Standard v0.3 (openrepair.org) as our records.

One row is one attempt to repair one thing. It names a category and no model, an age that is
guessed, and no thing that still works: so it becomes a unit that is known only because it failed.
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleet.errors import BadInput
from fleet.records.cells import canonical, shown
from fleet.records.clean import clean
from fleet.records.dates import parse_edtf
from fleet.records.headers import plain_name
from fleet.records.open_repair_codes import (
    BARRIERS,
    CATEGORIES,
    EARLIEST_YEAR,
    EVIDENCE,
    FIELDS,
    NEEDED,
    STATUSES,
)
from fleet.records.open_repair_notes import say_what_it_tells
from fleet.records.raw import Grid, RawTable, reject_table, row_text
from fleet.records.text_file import decode, first_row, read_grid

_KIND = "open repair data"
_PEEK = 65_536
# The word for a capacitor in English, French, German, Italian, Dutch, Spanish and Danish, and the
# German short form for an electrolytic one; never "condensation".
CAPACITOR = r"(?i)capacitor|kondensator|condensat(?:eur|or)|condensador|\belkos?\b"


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class OpenRepair:
    """Records of one file: `tables` by kind (clean_schema, as `clean` gives them), REJECTED rows
    (one per refused row of the file) and notes. `rows` are the file's rows; each that was kept is
    one row of `tables["units"]`, so rows = rejected + units kept or already known.
    """

    file: str
    rows: int
    tables: dict[str, pl.DataFrame]
    rejected: pl.DataFrame
    notes: tuple[str, ...]


def is_open_repair(path: Path) -> bool:
    """Whether a file's header is that of the Open Repair Data Standard."""
    if not path.is_file() or path.suffix.lower() not in {".csv", ".tsv", ".txt"}:
        return False
    with path.open("rb") as file:
        begin = file.read(_PEEK)
    try:
        text, _ = decode(begin.rsplit(b"\n", 1)[0] if b"\n" in begin else begin, path.name)
    except BadInput:
        return False
    return set(EVIDENCE) <= {plain_name(cell) for cell in first_row(text)[1]}


def read_open_repair(path: Path, *, today: date) -> OpenRepair:
    """Read such a file into sources, models, units and reports.

    A row gives one unit (unit: its id; model: its category; enrolled because failed on the day of
    the event) and one `failed` report (found dead, as it failed some time before it was brought;
    cause capacitor where the problem says so, else unknown), and a `repaired` or `retired` report
    where it was fixed or at the end of its life. A year of manufacture before 1900 or after the
    event is left blank and kept in the unit's notes. Raises BadInput where a needed column is
    missing; rows without id or day, or with codes that are not the standard's, are refused.
    """
    grid = read_grid(path)
    frame = _fields(grid)
    refused = reject_table(grid.file, _KIND, grid.ragged)
    rows = frame.height + refused.height
    reasons = _reasons(frame, today)
    refused = pl.concat([refused, _refused(frame, reasons, grid.file)])
    good = _derived(frame.filter(reasons.is_null()))
    tables, late = _records(good, grid.file, today)
    return OpenRepair(
        file=grid.file,
        rows=rows,
        tables=tables,
        rejected=pl.concat([refused, late]).sort("line"),
        notes=(*grid.notes, *say_what_it_tells(good, tables, grid.file)),
    )


def _fields(grid: Grid) -> pl.DataFrame:
    """The standard's fields as canonical text, null where the file has none."""
    plain = [plain_name(name) for name in grid.header]
    missing = [name for name in NEEDED if name not in plain]
    if missing:
        raise BadInput(
            f"{grid.file}: the column {', '.join(missing)} is missing; "
            "nothing of this file was read, the Open Repair Data Standard needs it"
        )
    nothing = pl.Series([None] * grid.frame.height, dtype=pl.String)
    columns = {
        name: canonical(grid.frame[f"c{plain.index(name)}"]) if name in plain else nothing
        for name in FIELDS
    }
    return pl.DataFrame({"line": grid.frame["line"], **columns})


def _reasons(frame: pl.DataFrame, today: date) -> pl.Series:
    """Why each row is refused; null where it is good."""
    event = parse_edtf(frame["event_date"])
    frame = frame.with_columns(day=event["earliest"], until=event["latest"])
    rules = [
        *(pl.when(pl.col(name).is_null()).then(pl.lit(f"{name} is blank")) for name in NEEDED),
        _unless(pl.col("day").eq_missing(pl.col("until")) & pl.col("day").is_not_null(),
                "event_date", "is not a day such as 2019-06-15"),
        _unless(pl.col("day") <= today, "event_date", "is in the future"),
        pl.when(pl.coalesce("product_category", "partner_product_category").is_null())
        .then(pl.lit("product_category is blank")),
        _unless(pl.col("country").str.contains("^[A-Z]{3}$"), "country",
                "is not a country code of three letters"),
        _unless(_listed("product_category", CATEGORIES), "product_category",
                "is not a category of the standard"),
        _unless(pl.col("product_category_id").is_in([str(i + 1) for i in range(len(CATEGORIES))]),
                "product_category_id", "is not 1 to 40"),
        _unless(_listed("repair_status", STATUSES), "repair_status",
                f"is not one of {', '.join(STATUSES)}"),
        _unless(_listed("repair_barrier_if_end_of_life", BARRIERS),
                "repair_barrier_if_end_of_life", "is not a barrier of the standard"),
    ]  # fmt: skip
    content = pl.concat_str(
        [pl.col(name).fill_null("") for name in FIELDS if name != "id"], separator="\x1f"
    )
    other = content != content.first().over("id")
    again = pl.when(pl.col("id").is_not_null() & other).then(
        pl.format("another row has the id {} and says something else", "id")
    )
    return frame.select(
        pl.when(pl.any_horizontal(rule.is_not_null() for rule in [*rules, again])).then(
            pl.concat_str([*rules, again], separator="; ", ignore_nulls=True)
        ).alias("reason")
    )["reason"]  # fmt: skip


def _listed(name: str, codes: object) -> pl.Expr:
    low = [str(code).lower() for code in codes]  # type: ignore[attr-defined]
    return pl.col(name).str.to_lowercase().is_in(low)


def _unless(good: pl.Expr, name: str, fault: str) -> pl.Expr:
    wrong = pl.col(name).is_not_null() & ~good.fill_null(value=False)
    return pl.when(wrong).then(pl.format(f"{name} {{}} {fault}", shown(pl.col(name))))


def _refused(frame: pl.DataFrame, reasons: pl.Series, file: str) -> pl.DataFrame:
    bad = frame.filter(reasons.is_not_null()).with_columns(
        row_text(FIELDS).alias("row"), reasons.drop_nulls().alias("reason")
    )
    return reject_table(file, _KIND, bad)


def _derived(frame: pl.DataFrame) -> pl.DataFrame:
    """What the records need: category, event day, age and build year where they are plausible."""
    event = pl.col("event_date").str.to_date("%Y-%m-%d")
    given = pl.col("year_of_manufacture").str.extract(r"^(\d{4})(?:\.0)?$").cast(pl.Int32)
    age = pl.col("product_age").cast(pl.Float64, strict=False)
    frame = frame.with_columns(
        pl.coalesce("product_category", "partner_product_category").alias("category"),
        event.alias("day"),
        pl.when(given.is_between(EARLIEST_YEAR, event.dt.year())).then(given).alias("year"),
        pl.when(age.is_finite() & (age >= 0)).then(age).alias("age"),
    )
    # More than a thousand years is no age, and would leave the calendar.
    back = pl.duration(days=(pl.col("age").clip(0, 1000) * DAYS_PER_YEAR).round().cast(pl.Int64))
    built = (pl.col("day") - back).dt.year()
    by_age = pl.when(built >= EARLIEST_YEAR).then(pl.format("{}~", built))
    return frame.with_columns(
        pl.coalesce(pl.col("year").cast(pl.String), by_age).alias("manufactured"),
        pl.col("year").is_null().alias("no_year"),
    )


def _records(
    good: pl.DataFrame, file: str, today: date
) -> tuple[dict[str, pl.DataFrame], pl.DataFrame]:
    """Cleaned tables by kind, and the rows that cleaning refused (a cell too long, say)."""
    raws = {"units": _units(good), "reports": _reports(good)}
    cleaned = {
        kind: clean(RawTable(kind=kind, file=file, frame=frame), today=today)
        for kind, frame in raws.items()
    }
    faults = pl.concat([c.rejected for c in cleaned.values()])
    bad = faults["line"].unique()
    rest = good.filter(~pl.col("line").is_in(bad.implode()))
    described = {"sources": _sources(rest), "models": _models(rest)}
    tables = {
        kind: clean(RawTable(kind=kind, file=file, frame=frame), today=today).kept
        for kind, frame in described.items()
    }
    for kind, c in cleaned.items():
        tables[kind] = c.kept.filter(~pl.col("line").is_in(bad.implode()))
    reasons = faults.group_by("line").agg(
        pl.col("reason").unique(maintain_order=True).str.join("; ")
    )
    late = good.join(reasons, on="line").with_columns(row_text(FIELDS).alias("row"))
    return tables, reject_table(file, _KIND, late)


def _sources(good: pl.DataFrame) -> pl.DataFrame:
    """The last day in the file is the cut-off: nothing later is in it."""
    return good.group_by("data_provider", maintain_order=True).agg(
        pl.col("line").first(), pl.col("day").max().cast(pl.String).alias("data_cutoff")
    ).select(
        pl.col("data_provider").alias("source"), "data_cutoff",
        pl.lit("no").alias("keeps_roll_call"), "line",
    )  # fmt: skip


def _models(good: pl.DataFrame) -> pl.DataFrame:
    return good.unique("category", keep="first", maintain_order=True).select(
        pl.col("category").alias("model"),
        pl.col("category").alias("kind"),
        pl.lit("a product category of the Open Repair Data Standard, not one design").alias(
            "notes"
        ),
        "line",
    )


def _labelled(name: str, label: str) -> pl.Expr:
    return pl.when(pl.col(name).is_not_null()).then(pl.format(f"{label}: {{}}", pl.col(name)))


def _units(good: pl.DataFrame) -> pl.DataFrame:
    kept_year = pl.when(pl.col("no_year")).then(
        _labelled("year_of_manufacture", "year of manufacture as entered")
    )
    return good.select(
        pl.col("data_provider").alias("source"),
        pl.col("record_date").alias("entered_on"),
        pl.col("id").alias("unit"),
        pl.col("category").alias("model"),
        "manufactured",
        pl.col("event_date").alias("enrolled_on"),
        pl.lit("failed").alias("enrolled_because"),
        pl.concat_str(
            [
                _labelled("brand", "brand"),
                _labelled("partner_product_category", "category as entered"),
                _labelled("country", "country"),
                _labelled("group_identifier", "group"),
                _labelled("product_age", "age as entered"),
                kept_year,
            ],
            separator="; ",
            ignore_nulls=True,
        ).alias("notes"),
        "line",
    )


def _reports(good: pl.DataFrame) -> pl.DataFrame:
    common = [
        pl.col("data_provider").alias("source"),
        pl.col("record_date").alias("entered_on"),
        pl.col("id").alias("unit"),
        pl.col("event_date").alias("date"),
    ]
    said = pl.concat_str(
        [
            _labelled("repair_status", "repair status"),
            _labelled("repair_barrier_if_end_of_life", "barrier"),
        ],
        separator="; ",
        ignore_nulls=True,
    ).alias("notes")
    capacitor = pl.col("problem").str.contains(CAPACITOR).fill_null(value=False)
    failed = good.select(
        *common,
        pl.lit("failed").alias("kind"),
        pl.when(capacitor).then(pl.lit("capacitor")).otherwise(pl.lit("unknown")).alias("cause"),
        pl.col("problem").alias("symptom"),
        pl.lit("yes").alias("found_dead"),
        said,
        "line",
    )
    after = {"fixed": "repaired", "end of life": "retired"}
    status = pl.col("repair_status").str.to_lowercase()
    ended = good.with_columns(
        status.replace_strict(after, default=None, return_dtype=pl.String).alias("kind")
    ).filter(pl.col("kind").is_not_null())
    second = ended.select(*common, "kind", said, "line")
    return pl.concat([failed, second], how="diagonal").sort("line", maintain_order=True)
