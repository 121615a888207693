"""Which positions may have ended each life, from the reports behind it. METHODS: culprits."""

import polars as pl

_REPLACING = ("recapped", "board_swapped")
_RUNS = ("working", "repaired")
# Within a day: seen working, then failed, then put right.
_RANK = {"failed": 1, "repaired": 2, "recapped": 2, "board_swapped": 2}


def named_positions(text: pl.Expr) -> pl.Expr:
    """Positions that a text names, as a sorted list; null for `all` or a blank."""
    names = text.str.split(";").list.eval(pl.element().str.strip_chars())
    kept = names.list.eval(pl.element().filter(pl.element() != "")).list.unique().list.sort()
    everything = kept.list.eval(pl.element().str.to_lowercase() == "all").list.any()
    return pl.when(everything | (kept.list.len() == 0)).then(None).otherwise(kept)


def culprits(lives: pl.DataFrame, reports: pl.DataFrame) -> pl.DataFrame:
    """For each failed row of `lives` (frames.LIVES, board lives) what its reports suspect.

    Columns: row (its number in `lives`), candidates (sorted names; null: any position), told
    (`named`: by the report of the failure, `replaced`: by the recap that answered it, `nothing`),
    against (true where the two had no position in common), first and last (days between which a
    reading speaks of this failure; last null: open).

    The positions named by reports of the failure, less those that the recap that put it right
    left in place; where none is left, or none was named, the positions that were replaced. A recap
    that did not cure says nothing of positions.
    """
    failed = (
        lives.with_row_index("row")
        .filter(pl.col("high").is_not_null())
        .with_columns(pl.col("row").cast(pl.Int64))
        .sort("unit", "set_no", "high", "row")
        .with_columns(nth=pl.int_range(pl.len(), dtype=pl.Int64).over("unit", "set_no"))
    )
    spells = _spells(failed, reports)
    found = failed.select("row", "unit", "set_no", "nth").join(
        spells, on=["unit", "set_no", "nth"], how="left"
    )
    both = pl.col("named").list.set_intersection("replaced").list.sort()
    known = pl.col("named").is_not_null() & pl.col("replaced").is_not_null()
    against = known & (both.list.len() == 0)
    chosen = (
        pl.when(known & ~against)
        .then(both)
        .when(against)
        .then("replaced")
        .otherwise(pl.coalesce("named", "replaced"))
    )
    told = (
        pl.when(pl.col("named").is_not_null() & ~against)
        .then(pl.lit("named"))
        .when(pl.col("replaced").is_not_null())
        .then(pl.lit("replaced"))
        .otherwise(pl.lit("nothing"))
    )
    return found.select(
        "row", candidates=chosen, told=told, against=against, first="first", last="last"
    ).sort("row")


def _spells(failed: pl.DataFrame, reports: pl.DataFrame) -> pl.DataFrame:
    """The failures of each set in order: unit, set_no, nth, named, replaced, first, last.

    Reports of a failure with no sight of the machine working between them are one failure.
    """
    events = _events(failed, reports)
    vain = ~pl.col("cured").fill_null(value=True)
    runs = pl.col("kind").is_in(_RUNS) & ~((pl.col("kind") == "repaired") & vain)
    spell = (runs.cast(pl.Int64).cum_sum()).over("unit", "set_no")
    events = events.with_columns(spell=spell)
    fails = (pl.col("kind") == "failed") & (pl.col("cause").fill_null("unknown") != "other")
    fits = pl.col("kind").is_in(_REPLACING)
    whole = (pl.col("kind") == "board_swapped") | pl.col("names").is_null()
    ends = fits | ((pl.col("kind") == "failed") & ~fails)
    by = ["unit", "set_no", "spell"]
    one = (
        events.with_columns(fails=fails, fits=fits, whole=whole, ends=ends)
        .group_by(by, maintain_order=True)
        .agg(
            failed=pl.col("fails").any(),
            answered=pl.col("fits").any(),
            planned=(pl.col("fits") & (pl.col("because") == "planned")).any(),
            named=pl.col("names").filter(pl.col("fails")).explode().drop_nulls().unique().sort(),
            replaced=pl.col("names")
            .filter(pl.col("fits") & ~vain)
            .explode()
            .drop_nulls()
            .unique()
            .sort(),
            all_replaced=(pl.col("fits") & pl.col("whole") & ~vain).any(),
            first_failed=pl.col("date_earliest").filter("fails").min(),
            first_fitted=pl.col("date_earliest").filter("fits").min(),
            last=pl.col("date_latest").filter("fits").max(),
        )
        .sort(by)
    )
    seen = (
        events.filter(runs)
        .group_by("unit", "set_no", pl.col("spell") - 1)
        .agg(runs_again=pl.col("date_earliest").min())
    )
    one = one.join(seen, on=by, how="left", maintain_order="left")
    # a recap without a failure reported stands for one only where the set ends by failure
    kept = one.filter(pl.col("failed") | (pl.col("answered") & ~pl.col("planned")))
    return kept.with_columns(
        nth=pl.int_range(pl.len(), dtype=pl.Int64).over("unit", "set_no"),
        named=pl.when(pl.col("named").list.len() > 0).then("named"),
        replaced=pl.when((pl.col("replaced").list.len() > 0) & ~pl.col("all_replaced")).then(
            "replaced"
        ),
        first=pl.coalesce("first_failed", "first_fitted"),
        last=pl.coalesce("last", "runs_again"),
    ).select("unit", "set_no", "nth", "named", "replaced", "first", "last")


def _events(failed: pl.DataFrame, reports: pl.DataFrame) -> pl.DataFrame:
    """Reports of the sets that failed, in order; the one that began a set is left out."""
    sets = failed.select("unit", "set_no", record=pl.col("reports").str.split(";")).unique(
        ["unit", "set_no"], maintain_order=True
    )
    listed = sets.with_columns(place=pl.int_ranges(pl.col("record").list.len())).explode(
        "record", "place"
    )
    # the ids of a set that was fitted begin with the report of its fitting
    own = listed.filter((pl.col("set_no") == 1) | (pl.col("place") > 0)).drop("place")
    kinds = ["kind", "cause", "because", "positions", "cured", "date_earliest", "date_latest"]
    told = own.join(reports.select("record", *kinds), on="record", how="inner")
    at_end = pl.col("kind").is_in(["failed", *_RUNS[1:], *_REPLACING])
    day = (
        pl.when(at_end)
        .then(pl.coalesce("date_latest", "date_earliest"))
        .otherwise(pl.coalesce("date_earliest", "date_latest"))
    )
    rank = pl.col("kind").replace_strict(_RANK, default=0, return_dtype=pl.Int8)
    return told.with_columns(names=named_positions(pl.col("positions")), day=day, rank=rank).sort(
        "unit", "set_no", "day", "rank", "record", nulls_last=True
    )
