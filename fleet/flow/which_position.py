"""Which capacitor fails? Positions of each model, most suspect first, judged and in words."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path

import polars as pl

from fleet.flow.answers import READ
from fleet.flow.kept import kept
from fleet.flow.position_lives import PositionLives, position_lives
from fleet.flow.position_told import FEWEST, carried
from fleet.flow.position_words import position_words, what_is_taken_as_true
from fleet.flow.table import Answer, Settings

PULL = 1.0  # failures, spread evenly over a model's positions, by which shares are drawn in
SHORTER, LONGER, LIKE = "shorter life", "longer life", "like the others"
UNTOLD, FEW, TOGETHER = "cannot tell", "too few failures", "not told apart"
ALIKE = 0.7  # within this factor of an even part a position is like the others; our own rule
_READ = ("positions", "units", "reports", "readings")

_S, _F = pl.String(), pl.Float64()
POSITIONS = pl.Schema(
    {
        "model": _S,
        "position": _S,  # positions that cannot be told apart are one row, joined by ;
        "lives": _F,
        "failures": _F,  # its part of the model's failures, shared out over the suspects
        "candidates": _F,  # failures of which it was a suspect, alone or among others
        "certain": _F,  # failures of which it was the only suspect
        "of_failures": _F,  # failures of the model
        "share_low": _F,
        "share": _F,  # of the failures of boards whose parts are of one age
        "share_high": _F,
        "shape": _F,
        "scale": _F,  # days
        "b10": _F,  # days
        "effect": _F,  # times as long as a position that takes an even part of the failures
        "effect_low": _F,
        "effect_high": _F,
        "readings_bad": _F,  # taken before a recap, of all machines of the model
        "readings_good": _F,
        "verdict": _S,
        "note": _S,
    }
)


def which_position(
    store: Path,
    *,
    as_of: date,
    settings: Settings | None = None,
    level: float = 0.90,
    use_readings: bool = True,
) -> Answer:
    """Positions of each model by how often they end its boards, as known on `as_of`.

    Board lives of whole sets (original ones unless `settings.parts` says otherwise); a failure's
    suspects are the positions named by its report, else those replaced by the recap that answered
    it, narrowed and weighed by readings taken before it (METHODS culprits, readings). Shares are
    drawn in by one failure spread evenly, so that one failure of one never tops the list; limits
    are profile-likelihood limits of `level`. Frame: POSITIONS, ages in days; positions with three
    failures or more first, by the lower limit of their share.
    """
    from fleet.flow.answers import choose_parts, table_of
    from fleet.flow.identifiable import set_apart
    from fleet.flow.known import known_records

    settings = settings or Settings()
    known = known_records(store, READ, as_of=as_of)
    table = table_of(known, as_of=as_of, settings=replace(settings, by_position=False))
    records = known_records(store, _READ, as_of=as_of)
    chosen, notes = choose_parts(table, ("model",), settings)
    whole = chosen.filter(pl.col("parts") != "partial")
    each = lives_of_named(known, as_of=as_of, settings=settings)
    found = position_lives(whole, each, records, use_readings=use_readings)
    apart = set_apart(whole, table, ("model",))[1]["model"].unique().to_list()
    frame = positions_of(found, level=level, without_ages=apart)
    told = what_is_taken_as_true(found) if found.failures.height else ()
    words = position_words(frame, found, level=level)
    unnamed = _without_positions(whole, found)
    return Answer(frame=frame, notes=(*words, *unnamed, *told, *notes))


def lives_of_named(
    known: Mapping[str, pl.DataFrame], *, as_of: date, settings: Settings
) -> pl.DataFrame:
    """Lives by position of the machines of which something names a position: of the others no
    position lived longer than its board.
    """
    from fleet.lives import build_lives

    return kept(
        "lives of named positions",
        [known.get(kind) for kind in READ],
        (as_of, settings.unknown_cause, settings.degraded_as),
        lambda: (
            build_lives(
                known,
                as_of=as_of,
                unknown_cause=settings.unknown_cause,
                degraded_as=settings.degraded_as,
                by_position=True,
                where_named=True,
            ).lives
        ),
    )


def positions_of(
    found: PositionLives, *, level: float = 0.90, without_ages: list[str] | None = None
) -> pl.DataFrame:
    """POSITIONS from lives with suspects; models `without_ages` (nothing but failures, collected
    since nobody knows when) get shares only. Raises BadFrame.
    """
    from fleet.fits import fit_causes

    if found.lives.is_empty():
        return pl.DataFrame(schema=POSITIONS)
    fits = fit_causes(
        found.lives,
        by=["model"],
        positions=found.positions,
        shape="shared",
        pull=PULL,
        level=level,
        limits=("share",),
    )
    ageless = pl.col("model").is_in(without_ages or [])
    total = pl.col("failures").sum().over("model")
    failed = found.lives.filter(pl.col("high").is_not_null())
    totals = failed.group_by("model").agg(of_failures=pl.col("count").sum())
    rows = fits.with_columns(
        pl.when(~ageless).then(c).alias(c) for c in ("shape", "scale", "b10")
    ).join(totals, on="model", how="left", maintain_order="left")
    rows = rows.join(
        _readings(rows, found.judged), on=["model", "position"], how="left", maintain_order="left"
    ).with_columns(
        pl.col("of_failures", "readings_bad", "readings_good").fill_null(0.0),
        candidates="named",
        certain="alone",
        note="reason",
        total=total,
    )
    return _ranked(_judged(_effects(rows))).select(
        pl.col(c).cast(dtype) for c, dtype in POSITIONS.items()
    )


def _readings(rows: pl.DataFrame, judged: pl.DataFrame) -> pl.DataFrame:
    """Readings before a recap of each row's positions: model, position, readings_bad, _good."""
    each = rows.select("model", "position", one=pl.col("position").str.split(";")).explode("one")
    return (
        each.join(
            judged.select("model", "position", "verdict"),
            left_on=["model", "one"],
            right_on=["model", "position"],
            how="inner",
        )
        .group_by("model", "position")
        .agg(
            readings_bad=(pl.col("verdict") == "bad").sum().cast(_F),
            readings_good=(pl.col("verdict") == "good").sum().cast(_F),
        )
    )


def _effects(rows: pl.DataFrame) -> pl.DataFrame:
    """Life beside that of a position with an even part: (even / share) ** (1 / shape)."""
    even = pl.col("positions") / pl.col("positions").sum().over("model")
    longest = pl.col("shape").max().over("model")  # one for all; null where none exists

    def times(share: str) -> pl.Expr:
        ratio = (even / pl.col(share)) ** (1.0 / longest)
        return pl.when((pl.col(share) > 0.0) & longest.is_not_null()).then(ratio)

    return rows.with_columns(
        effect=times("share"), effect_low=times("share_high"), effect_high=times("share_low"),
        even=even,
    )  # fmt: skip


def _judged(rows: pl.DataFrame) -> pl.DataFrame:
    few = (pl.col("of_failures") < FEWEST) | pl.col("share_low").is_null()
    alone = pl.col("positions") == pl.col("positions").sum().over("model")
    inside = (pl.col("effect_low") >= ALIKE) & (pl.col("effect_high") <= 1.0 / ALIKE)
    verdict = (
        pl.when(alone & (pl.col("positions") > 1.0) & (pl.col("of_failures") > 0.0))
        .then(pl.lit(TOGETHER))
        .when(few)
        .then(pl.lit(FEW))
        .when(pl.col("share").is_null())
        .then(pl.lit(TOGETHER))
        .when(
            (pl.col("share_low") > pl.col("even"))
            & (pl.col("failures") >= FEWEST)
            & carried("shorter")
        )
        .then(pl.lit(SHORTER))
        .when((pl.col("share_high") < pl.col("even")) & carried("longer"))
        .then(pl.lit(LONGER))
        .when(inside)
        .then(pl.lit(LIKE))
        .otherwise(pl.lit(UNTOLD))
    )
    return rows.with_columns(verdict=verdict)


def _ranked(rows: pl.DataFrame) -> pl.DataFrame:
    """Most suspect first: with failures enough, by the lower limit of the share."""
    enough = (
        (pl.col("failures") >= FEWEST)
        & (pl.col("of_failures") >= FEWEST)
        & pl.col("share").is_not_null()
        & (pl.col("verdict") != TOGETHER)
    )
    return (
        rows.with_columns(_later=~enough.fill_null(value=False))
        .sort("_later", "share_low", "failures", "model", "position",
              descending=[False, True, True, False, False], nulls_last=True)
        .drop("_later")
    )  # fmt: skip


def position_rows(positions: pl.DataFrame, *, parts: str = "original") -> pl.DataFrame:
    """Rows for the list of suspects, from POSITIONS: level, name, model, parts, lives, failures,
    effect (times as long as a position with an even part of the failures), effect_low,
    effect_high, verdict, reason, shape. Models without a failure, or without two positions to
    hold against each other, are left out.
    """
    counted = pl.format(
        "{} of {} failures suspect it, {} of it alone",
        *(pl.col(c).round(1).cast(pl.String).str.strip_suffix(".0")
          for c in ("candidates", "of_failures", "certain")),
    )  # fmt: skip
    several = pl.len().over("model") > 1
    return positions.filter((pl.col("of_failures") > 0.0) & several).select(
        "model",
        "lives",
        "failures",
        "effect",
        "effect_low",
        "effect_high",
        "verdict",
        "shape",
        level=pl.lit("position"),
        name="position",
        parts=pl.lit(parts),
        reason=pl.concat_str(counted, "note", separator="; ", ignore_nulls=True),
    )


def _without_positions(whole: pl.DataFrame, found: PositionLives) -> tuple[str, ...]:
    known = found.positions["model"].unique().to_list()
    failed = whole.filter(pl.col("high").is_not_null() & ~pl.col("model").is_in(known))
    models = failed["model"].unique().sort().to_list()
    if not models:
        return ()
    names = ", ".join(models[:5]) + (f" and {len(models) - 5} more" if len(models) > 5 else "")
    return (
        f"No position of {names} is known, so nothing is said of them: list their capacitors in "
        "positions, or name the position when a failure or recap is logged",
    )
