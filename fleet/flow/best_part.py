"""Which of the parts that can be bought goes into each place, and why.

METHODS: best-part
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

import polars as pl

from fleet.frames.tables import S

AS_LONG = 0.8  # rated lives from this share of the longest count as equally long; our own rule
_KELVIN, _AT = 10.0, 105.0  # ten-kelvin rule, temperature at which rated lives are compared

_TEXTS: pl.DataType = pl.List(pl.String)
BEST = pl.Schema(
    {
        "model": S,
        "position": S,
        "part": S,  # null: none can be named
        "verdict": S,  # of that part; null where facts of the place are missing
        "measure_first": _TEXTS,
        "sentences": _TEXTS,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """`places`: positions, one row each. `gaps`: model, position, missing (facts nobody told), said
    (a sentence each on facts that contradict one another). `pairs`: capacitors.stand_in's verdict
    on every part in every place without gaps. `parts`: what the choice goes by: part, life (rated
    hours at 105 °C), price, fresh, shelf (its sentence). `notes`: parts left out, and why.
    """

    places: pl.DataFrame
    gaps: pl.DataFrame
    pairs: pl.DataFrame
    parts: pl.DataFrame
    notes: tuple[str, ...] = ()


def best_part_for(
    records: Mapping[str, pl.DataFrame], model: str | None = None, *, as_of: date | None = None
) -> pl.DataFrame:
    """The part for each position of `model`, or of every model: frame BEST.

    `records`: known frames of positions and offers. With `as_of` the age of what suppliers hold
    counts. A part that fits goes before one that fits with care; then one of which nothing has to
    be measured first; then one that is fresh, and has a price; then rated life, brought to one
    temperature by the ten-kelvin rule (at least four fifths of the longest counts as as long);
    then the price of the first piece, then the name.
    """
    models = None if model is None else [model]
    return choose(judge(records, models=models, as_of=as_of))


def judge(
    records: Mapping[str, pl.DataFrame],
    *,
    models: list[str] | None = None,
    as_of: date | None = None,
) -> Judged:
    """Every offered part in every place of the `models` (None: all) of which enough is known."""
    from fleet.capacitors.contradictory import contradictions
    from fleet.capacitors.stand_in import judge_stand_ins
    from fleet.capacitors.told_twice import told_twice

    places = records["positions"]
    if models is not None:
        places = places.filter(pl.col("model").is_in(models))
    places = _newest(places, ["model", "position"])
    offers = _by_entry(records["offers"])
    against = pl.concat([contradictions(offers, of=["part"]), told_twice(offers)])
    against = against.unique(maintain_order=True)
    offers = offers.filter(pl.col("part").is_in(against["part"].to_list()).not_())
    gaps = _gaps(places)
    whole = places.join(gaps, on=["model", "position"], how="anti", maintain_order="left")
    return Judged(
        places=places,
        gaps=gaps,
        pairs=judge_stand_ins(whole, offers),
        parts=_parts(offers, as_of),
        notes=tuple(
            f"{part} is left out, as its facts contradict one another: {sentence}"
            for part, sentence in against.select("part", "sentence").iter_rows()
        ),
    )


def _gaps(places: pl.DataFrame) -> pl.DataFrame:
    """Places that nothing can be ordered for: model, position, missing, said."""
    from fleet.capacitors.contradictory import contradictions
    from fleet.capacitors.gaps import position_gaps

    key = ["model", "position"]
    against = (
        contradictions(places, of=key)
        .group_by(key, maintain_order=True)
        .agg(pl.col("sentence").unique(maintain_order=True).alias("said"))
    )
    both = position_gaps(places).join(against, on=key, how="full", coalesce=True)
    again = pl.when(pl.col("said").is_not_null()).then(pl.lit(["facts that contradict"]))
    none = pl.lit([], dtype=_TEXTS)
    return both.select(
        *key,
        pl.concat_list(pl.col("missing").fill_null(none), again.fill_null(none)).alias("missing"),
        pl.col("said").fill_null(none),
    )


def without_supplier(judged: Judged, offers: pl.DataFrame, as_of: date | None) -> Judged:
    """The same with the `offers` that are left when those of a supplier are taken away."""
    parts = _parts(_by_entry(offers), as_of)
    left = pl.col("part").is_in(parts["part"].to_list())
    known = pl.col("part").is_in(judged.parts["part"].to_list())
    return replace(judged, pairs=judged.pairs.filter(left), parts=parts.filter(known))


def choose(judged: Judged) -> pl.DataFrame:
    """The part of each place among those judged (BEST), by position."""
    key = ["model", "position"]
    # A part of which too little is known for a verdict is never chosen.
    may = judged.pairs.filter(pl.col("verdict").is_in(["fits", "fits_with_care"])).join(
        judged.parts, on="part", how="left", maintain_order="left"
    )
    ranked = may.with_columns(
        (pl.col("verdict") != "fits").alias("care"),
        (pl.col("measure_first").list.len() > 0).alias("measure"),
        pl.col("fresh").not_().alias("old"),
        pl.col("price").is_null().alias("unpriced"),
    )
    # Lives and prices are compared only among parts that are alike so far.
    rank = pl.sum_horizontal(
        pl.col(name).cast(pl.Int64) * weight
        for name, weight in (("care", 8), ("measure", 4), ("old", 2), ("unpriced", 1))
    )
    ranked = ranked.filter(rank == rank.min().over(key))
    longest = pl.col("life").max().over(key)
    shorter = (pl.col("life").fill_null(-1.0) < AS_LONG * longest).fill_null(value=False)
    ranked = ranked.with_columns(shorter.alias("shorter"), pl.len().over(key).alias("of"))
    best = ranked.sort(
        *key, "shorter", "price", pl.col("life").fill_null(-1.0) * -1, "part", nulls_last=True
    ).unique(key, keep="first", maintain_order=True)
    chosen = judged.places.select(key).join(
        best.select(*key, "part", "verdict", "measure_first", _why().alias("sentences")),
        on=key,
        how="left",
        maintain_order="left",
    )
    return _without_a_part(chosen, judged).select(BEST.names())


def _why() -> pl.Expr:
    """Sentences on a chosen part: what asks for care, how it was chosen, what its age asks for."""
    reasons = pl.col("reasons").list.eval(
        pl.when(pl.element().struct.field("verdict") != "fits")
        .then(pl.element().struct.field("sentence"))
        .drop_nulls()
    )
    life = pl.when(pl.col("life").is_not_null()).then(
        pl.format("rated {} h at 105 °C", pl.col("life").round(0).cast(pl.Int64))
    )
    chosen = (
        pl.when(pl.col("of") == 1)
        .then(pl.lit("no other on offer does as well"))
        .when(pl.col("price").is_null())
        .then(pl.format("chosen of {} that do as well", pl.col("of")))
        .otherwise(pl.format("the cheapest of the longest-lived among {}", pl.col("of")))
    )
    fits = pl.when(pl.col("care")).then(pl.lit("fits with care")).otherwise(pl.lit("fits"))
    said = pl.concat_str(
        pl.format("{} {}", "part", fits), life, chosen, separator=", ", ignore_nulls=True
    )
    return pl.concat_list(
        pl.concat_list(said),
        reasons,
        pl.when(pl.col("old")).then(pl.concat_list("shelf")).otherwise(pl.lit([], dtype=_TEXTS)),
    )


def _without_a_part(chosen: pl.DataFrame, judged: Judged) -> pl.DataFrame:
    """Places left without a part: facts missing, or what the nearest parts lack."""
    key = ["model", "position"]
    bare = chosen.filter(pl.col("part").is_null())
    refused = _nearest(judged.pairs.join(bare, on=key, how="semi"))
    facts = pl.col("missing").list.join(", ")
    return (
        chosen.join(judged.gaps, on=key, how="left", maintain_order="left")
        .join(refused, on=key, how="left", maintain_order="left")
        .with_columns(
            pl.coalesce("measure_first", "missing", pl.lit([], dtype=_TEXTS)),
            pl.when(pl.col("part").is_null() & pl.col("missing").is_null())
            .then(pl.lit("does_not_fit"))
            .otherwise("verdict")
            .alias("verdict"),
            pl.when(pl.col("missing").is_not_null())
            .then(pl.concat_list(pl.format("measure before ordering: {}", facts), "said"))
            .when(pl.col("part").is_null())
            .then(
                pl.coalesce(
                    "nearest", pl.lit(["no part is on offer; enter some with `fleet add offer`"])
                )
            )
            .otherwise("sentences")
            .alias("sentences"),
        )
    )


def _nearest(pairs: pl.DataFrame) -> pl.DataFrame:
    """model, position, nearest: the two parts with least against them, and what that is."""
    key = ["model", "position"]

    def said(*verdicts: str) -> pl.Expr:
        of = pl.element().filter(pl.element().struct.field("verdict").is_in(list(verdicts)))
        return pl.col("reasons").list.eval(of.struct.field("sentence"))

    return (
        pairs.with_columns(
            said("facts_not_known", "does_not_fit").alias("against"),
            said("fits_with_care").list.len().alias("care"),
        )
        .with_columns(pl.col("against").list.len().alias("count"))
        .sort(*key, "count", "care", "part")
        .group_by(key, maintain_order=True)
        .head(2)
        .with_columns(
            pl.format("not {}: {}", "part", pl.col("against").list.join("; ")).alias("text")
        )
        .group_by(key, maintain_order=True)
        .agg(pl.col("text").alias("nearest"))
        .with_columns(pl.concat_list(pl.lit("no part on offer fits"), "nearest").alias("nearest"))
    )


def _parts(offers: pl.DataFrame, as_of: date | None) -> pl.DataFrame:
    """What the choice goes by, one row a part."""
    ten_kelvin = 2.0 ** ((pl.col("temperature") - _AT) / _KELVIN)
    life = (pl.col("rated_hours") * ten_kelvin).drop_nulls().first().alias("life")
    shelf = shelf_of_offers(offers, as_of)
    return (
        offers.join(shelf, on="date_code", how="left", nulls_equal=True, maintain_order="left")
        .sort(pl.col("price_from_quantity").fill_null(1), "price", nulls_last=True)
        .group_by("part", maintain_order=True)
        .agg(
            life,
            pl.col("price").drop_nulls().first(),
            pl.col("fresh").any(),
            pl.col("shelf").first(),
        )
    )


def shelf_of_offers(offers: pl.DataFrame, as_of: date | None) -> pl.DataFrame:
    """By date_code: fresh (may be bought), age_years, shelf (a sentence); without a day all are."""
    codes = offers["date_code"].unique().to_list()
    rows: list[tuple[str | None, bool, float | None, str | None]]
    if as_of is None:
        rows = [(code, True, None, None) for code in codes]
    else:
        from fleet.capacitors.shelf import shelf_advice

        read = [(code, shelf_advice(code, as_of, held="offer")) for code in codes]
        rows = [(code, s.verdict != "leave", s.oldest, s.sentence) for code, s in read]
    return pl.DataFrame(
        rows,
        schema={
            "date_code": pl.String,
            "fresh": pl.Boolean,
            "age_years": pl.Float64,
            "shelf": pl.String,
        },
        orient="row",
    )


def _by_entry(frame: pl.DataFrame) -> pl.DataFrame:
    """Rows in the order in which they were entered, the newest first."""
    return frame.sort("entered_on", "record", descending=[True, False], nulls_last=True)


def _newest(frame: pl.DataFrame, key: list[str]) -> pl.DataFrame:
    """One row of each key, the last entered."""
    return _by_entry(frame).unique(key, keep="first", maintain_order=True).sort(key)
