"""Whether the Weibull fits, and whether another distribution describes the lives better."""

from collections.abc import Sequence

import polars as pl

from fleet.errors import BadInput
from fleet.flow.answers import choose_parts, grouping
from fleet.flow.fit_check_words import check_words
from fleet.flow.identifiable import set_apart, what_failures_alone_tell
from fleet.flow.read_aloud import group_name
from fleet.flow.table import Answer, Settings, Table

_SAID = 5  # groups told of in sentences
_ASKS = 0.10  # a departure this rare asks for a mixture
_MOST_LIVES = 2_000_000  # drawn fleets of more would fill the memory
_ENOUGH = 10.0  # and it needs this many failures

# After the group columns: fits.ALTERNATIVES, then what was found of the departure.
P_VALUE_OF = {
    "weibull": "a departure this large if lives follow a Weibull",
    "exponential": "a gain this large by the Weibull if age does not matter",
    "limited_failure": "a gain this large if all can fail",
}


def check_fit(
    table: Table,
    *,
    by: Sequence[str] | None = None,
    draws: int | None = None,
    seed: int | None = None,
    settings: Settings | None = None,
    level: float = 0.95,
) -> Answer:
    """One row for each group and distribution, and sentences on the first few groups.

    Columns: the group columns, those of fits.ALTERNATIVES (distribution, lives, failures, exists,
    reason, log_likelihood, parameters, aic, aic_few, b10, share_that_can_fail, share_low,
    share_high, p_value), p_value_of (what the p-value is the chance of), and for the Weibull
    departure (1 is what chance alone does), at_age, excess (failures by that age over those
    expected) and draws. Two causes and two kinds have rows only in groups of at least 10
    failures whose departure from the Weibull chance alone makes in at most 10 of 100 fleets.
    Ages as in the table. `draws` and `seed` None: 499, and a fixed seed. Raises BadInput.
    """
    from fleet.fits.alternatives import alternatives
    from fleet.fits.departure import DRAWS, SEED, departure

    groups = grouping(table, by)
    chosen, notes = choose_parts(table, groups, settings)
    chosen, apart = set_apart(chosen, table, groups)
    chosen = chosen.with_columns(pl.col(c).cast(pl.String).fill_null("unknown") for c in groups)
    lives = float(chosen["count"].sum())
    if lives > _MOST_LIVES:
        raise BadInput(
            f"checking the fit draws whole fleets and takes at most {_MOST_LIVES:,} lives; this "
            f"table holds {lives:,.0f}: give smaller counts, or some of the groups"
        )
    far = departure(
        chosen,
        by=groups,
        draws=DRAWS if draws is None else draws,
        seed=SEED if seed is None else seed,
    )
    asks = (pl.col("p_value") <= _ASKS) & (pl.col("failures") >= _ENOUGH)
    far = far.with_columns(mixtures=asks.fill_null(value=False))
    parts = []
    for mixtures in (False, True):
        some = far.filter(pl.col("mixtures") == mixtures)
        if not some.is_empty():
            own = (
                chosen.join(some.select(groups), on=list(groups), how="semi") if groups else chosen
            )
            parts.append(alternatives(own, by=groups, level=level, mixtures=mixtures))
    if not parts:
        parts = [alternatives(chosen, by=groups, level=level, mixtures=False)]
    frame = _joined(pl.concat(parts), far, groups)
    said = _sentences(frame, groups, table.age_unit or "units of age")
    return Answer(frame=frame, notes=(*notes, *what_failures_alone_tell(apart, groups), *said))


def _joined(fits: pl.DataFrame, far: pl.DataFrame, groups: Sequence[str]) -> pl.DataFrame:
    """Fits with the departure beside the Weibull, groups in order of name."""
    found = far.select(
        *groups,
        pl.lit("weibull").alias("distribution"),
        pl.col("p_value").alias("_p"),
        pl.col("reason").alias("_why"),
        "departure",
        "at_age",
        "excess",
        "draws",
    )
    joined = fits.join(
        found, on=[*groups, "distribution"], how="left", maintain_order="left"
    ).with_columns(
        p_value=pl.coalesce("p_value", "_p"),
        reason=pl.coalesce("reason", "_why"),
    )
    of = pl.col("distribution").replace_strict(P_VALUE_OF, default=None)
    told = pl.when(pl.col("p_value").is_not_null()).then(of)
    joined = joined.with_columns(p_value_of=told).select(
        *fits.columns, "p_value_of", "departure", "at_age", "excess", "draws"
    )
    return joined.sort(list(groups), maintain_order=True) if groups else joined


def _sentences(frame: pl.DataFrame, groups: Sequence[str], unit: str) -> list[str]:
    if frame.is_empty():
        return []
    parts = frame.partition_by(list(groups), maintain_order=True) if groups else [frame]
    said = []
    for part in parts[:_SAID]:
        name = group_name(part.row(0, named=True), groups, all_of_them="All lives")
        said.append(f"{name}: {check_words(part.to_dicts(), unit=unit)}")
    if len(parts) > _SAID:
        said.append(f"{len(parts) - _SAID} more groups are in the table and not told here")
    return said
