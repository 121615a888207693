"""The whole chain for one question and one as-of date; commands and pages both ask here."""

from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path

import polars as pl

from fleet.errors import BadInput
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.kept import kept
from fleet.flow.table import Answer, Settings, Table, in_years, life_file
from fleet.frames import CURVE, FIT

__all__ = [
    "Answer",
    "Settings",
    "Table",
    "hazard",
    "in_years",
    "life_file",
    "lives",
    "survival",
    "table_of",
    "weibull",
]

READ = ("sources", "models", "positions", "batches", "units", "reports")
_PARTS = {
    "original": ["original"],
    "replaced": ["replaced_known", "replaced_unknown"],
    "partial": ["partial"],
    "all": ["original", "replaced_known", "replaced_unknown", "partial"],
}


def lives(store: Path, *, as_of: date, settings: Settings | None = None) -> Table:
    """The life table as it was known on `as_of`, ages in days."""
    from fleet.flow.known import known_records

    return table_of(known_records(store, READ, as_of=as_of), as_of=as_of, settings=settings)


def table_of(
    records: Mapping[str, pl.DataFrame], *, as_of: date, settings: Settings | None = None
) -> Table:
    """The life table of records of the kinds READ as they were known on `as_of`, ages in days."""
    settings = settings or Settings()
    return kept(
        "life table",
        [records.get(kind) for kind in READ],
        (as_of, settings.unknown_cause, settings.degraded_as, settings.by_position),
        lambda: _table_of(records, as_of=as_of, settings=settings),
    )


def _table_of(records: Mapping[str, pl.DataFrame], *, as_of: date, settings: Settings) -> Table:
    from fleet.lives import build_lives

    built = build_lives(
        records,
        as_of=as_of,
        unknown_cause=settings.unknown_cause,
        degraded_as=settings.degraded_as,
        by_position=settings.by_position,
    )
    dated = records["sources"].filter(pl.col("collecting_since").is_not_null())
    seen = built.lives["source"].drop_nulls().unique().to_list()
    return Table(
        lives=built.lives,
        working=built.working,
        left_out=built.left_out,
        shares=built.shares,
        twice_told=built.twice_told,
        notes=built.notes,
        open_sources=frozenset(seen) - frozenset(dated["source"].to_list()),
        from_store=True,
        age_unit="days",
    )


def survival(
    table: Table,
    *,
    by: Sequence[str] | None = None,
    level: float = 0.95,
    method: str = "auto",
    settings: Settings | None = None,
) -> Answer:
    """Survival points by group (frames.CURVE after the group columns), ages as in the table.

    Groups of nothing but failures, collected since nobody knows when, get no curve and a sentence.
    """
    from fleet.fits import curve

    groups = grouping(table, by)
    chosen, notes = choose_parts(table, groups, settings)
    chosen, apart = set_apart(chosen, table, groups)
    result = curve(chosen, by=groups, level=level, method=method, unit=table.age_unit)
    return Answer(
        frame=result.points, notes=(*notes, *what_failures_alone_tell(apart, groups), *result.notes)
    )


def weibull(
    table: Table,
    *,
    by: Sequence[str] | None = None,
    level: float = 0.95,
    settings: Settings | None = None,
) -> Answer:
    """Weibull fits by group (frames.FIT after the group columns), ages as in the table."""
    from fleet.fits import fit_weibull

    groups = grouping(table, by)
    chosen, notes = choose_parts(table, groups, settings)
    chosen, apart = set_apart(chosen, table, groups)
    if apart.is_empty():
        fits = fit_weibull(chosen, by=groups, level=level)
    elif chosen.is_empty():
        fits = _refused(apart, groups)
    else:
        fits = pl.concat([fit_weibull(chosen, by=groups, level=level), _refused(apart, groups)])
    if groups:
        fits = fits.sort(list(groups))
    return Answer(frame=fits, notes=(*notes, *what_failures_alone_tell(apart, groups)))


def hazard(
    table: Table,
    *,
    by: Sequence[str] | None = None,
    level: float = 0.95,
    settings: Settings | None = None,
) -> Answer:
    """Failure rate by age from the Weibull fit, with limits, over the ages that were watched.

    Columns: the group columns, age, hazard, hazard_low, hazard_high (per unit of age), supported.
    """
    from fleet.fits import hazard_curve

    groups = grouping(table, by)
    chosen, notes = choose_parts(table, groups, settings)
    chosen, apart = set_apart(chosen, table, groups)
    points = hazard_curve(chosen, by=groups, level=level)
    return Answer(frame=points, notes=(*notes, *what_failures_alone_tell(apart, groups)))


# Columns of answers: a group column of the same name could not stand beside them.
RESULTS = frozenset(
    {
        *FIT.names(),
        *CURVE.names(),
        *("age_unit", "reach", "within", "seen_to", "ratio", "ratio_low", "ratio_high"),
        *("good", "good_low", "good_high", "fails", "fails_low", "fails_high", "distribution"),
        *("mean_failures", "mean_failures_low", "mean_failures_high", "standard_error", "aic_few"),
        *("parameters", "aic", "share_that_can_fail", "share_low", "share_high", "p_value"),
        *("p_value_of", "departure", "at_age", "excess", "draws", "log_age", "share_failed"),
    }
)


def grouping(table: Table, by: Sequence[str] | None) -> tuple[str, ...]:
    """The columns to group by: what was asked, else by model for a store and one group for a file.

    Raises BadInput when the table has no such column.
    """
    if by is None:
        return ("model",) if table.from_store else ()
    columns = [c for c in table.lives.columns if table.lives.schema[c] in (pl.String, pl.Int64)]
    for column in by:
        if column not in columns:
            raise BadInput(
                f"there is no column {column} to group by; there are {', '.join(columns)}"
            )
        if column in RESULTS:
            raise BadInput(
                f"the group column {column} has the name of a result; rename it in the file, "
                f"for instance to {column}_group"
            )
    return tuple(by)


def choose_parts(
    table: Table, groups: Sequence[str], settings: Settings | None
) -> tuple[pl.DataFrame, tuple[str, ...]]:
    """The lives of the parts that belong together, and a sentence on those left aside."""
    if not table.from_store:
        return table.lives, ()
    wanted = settings.parts if settings else None
    if wanted is None:
        wanted = "all" if "parts" in groups else "original"
    if wanted not in _PARTS:
        raise BadInput(f"parts can be {', '.join(_PARTS)}; not {wanted}")
    kept = table.lives.filter(pl.col("parts").is_in(_PARTS[wanted]))
    frame = kept.with_columns(pl.col(c).cast(pl.String).fill_null("unknown") for c in groups)
    notes = []
    models = kept["model"].n_unique()
    if models > 1 and "model" not in groups:
        notes.append(
            f"{models} models are taken together though they differ; ask for one with --model"
        )
    aside = table.lives.height - kept.height
    if aside:
        others = "replaced or partly replaced" if wanted == "original" else "other"
        what = (
            f"1 life of {others} sets is" if aside == 1 else f"{aside:,} lives of {others} sets are"
        )
        notes.append(f"{what} kept apart; ask for them by parts to see them")
    return frame, tuple(notes)


def _refused(apart: pl.DataFrame, groups: Sequence[str]) -> pl.DataFrame:
    """Fit rows without an estimate for groups that failures alone cannot tell about."""
    failed = pl.col("count").filter(pl.col("high").is_not_null())
    counts = (pl.col("count").sum().alias("lives"), failed.sum().alias("failures"))
    rows = apart.group_by(groups).agg(counts) if groups else apart.select(counts)
    empty = [
        pl.lit(None, dtype=dtype).alias(name)
        for name, dtype in FIT.items()
        if name not in ("lives", "failures", "exists", "reason")
    ]
    reason = (
        "only failures were reported, and not since when they were collected: "
        "no life distribution can be read off them"
    )
    return rows.with_columns(
        pl.lit(False).alias("exists"), pl.lit(reason).alias("reason"), *empty
    ).select(*groups, *FIT)
