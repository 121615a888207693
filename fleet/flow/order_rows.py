"""The order as rows by position, and the reasons."""

import polars as pl

from fleet.decisions.order import Demand
from fleet.flow.order_prices import Priced
from fleet.flow.order_stock import OnShelf
from fleet.flow.order_window import Window
from fleet.frames.tables import F, N, S

_TEXTS: pl.DataType = pl.List(pl.String)

# By position. Rows that nothing is ordered for have quantity 0 and say why in `advice`.
ROWS = pl.Schema(
    {
        "model": S,
        "position": S,  # null: nobody described the model's positions
        "part": S,  # that goes in; null: none can be named
        "quantity": N,  # pieces wanted: needed and spares
        "spares": N,  # of the part, written at the first of its positions
        "needed": N,  # places to fill, one a machine of the window
        "from_stock": N,
        "to_buy": N,
        "supplier": S,
        "unit_price": F,
        "cost": F,  # of the pieces to buy, without shipping
        "currency": S,
        "verdict": S,
        "measure_first": _TEXTS,
        "advice": S,
    }
)
_KEY = ["model", "position"]
ASK_AGE = "a later date code"


def order_rows(
    lines: pl.DataFrame,
    best: pl.DataFrame,
    demand: Demand,
    shelf: OnShelf,
    offers: Priced,
    window: Window,
) -> pl.DataFrame:
    """ROWS, `points` (what advice says, a text each) and of them `care` (what to mind where a part
    fits with care): the lines of the order, and the positions and models nothing is ordered for.
    """
    machines = window.jobs.group_by("model").agg(pl.len().cast(pl.Int64).alias("needed"))
    said = best.select(
        *_KEY, pl.col("part").alias("chosen"), "verdict", "measure_first", "sentences"
    )
    rows = pl.concat(
        [
            _ordered(lines, said, demand, shelf, offers),
            _left(said.join(lines, on=_KEY, how="anti", maintain_order="left"), machines),
            _bare(machines.join(best, on="model", how="anti")),
        ],
        how="diagonal_relaxed",
    )
    counts = [name for name, dtype in ROWS.items() if dtype.is_numeric() and name != "unit_price"]
    return (
        rows.with_columns(
            pl.lit(offers.currency, dtype=pl.String).alias("currency"),
            pl.col(counts).fill_null(0),
            pl.col("care").fill_null(pl.lit([], dtype=_TEXTS)),
            joined_sentences("points").alias("advice"),
        )
        .sort("model", natural("position"), "position", nulls_last=True, maintain_order=True)
        .select(*(pl.col(name).cast(dtype) for name, dtype in ROWS.items()), "points", "care")
    )


def natural(column: str) -> pl.Expr:
    """The number in a name, so that C2 comes before C10."""
    return pl.col(column).str.extract(r"(\d+)").cast(pl.Int64, strict=False)


def joined_sentences(column: str) -> pl.Expr:
    """Texts of a list as sentences one after another; null for none."""
    one = pl.element().str.strip_chars_end(". ")
    told = pl.concat_str(one.str.slice(0, 1).str.to_uppercase(), one.str.slice(1), pl.lit("."))
    said = pl.col(column).list.eval(told).list.join(" ")
    return pl.when(said != "").then(said)


def _ordered(
    lines: pl.DataFrame, said: pl.DataFrame, demand: Demand, shelf: OnShelf, offers: Priced
) -> pl.DataFrame:
    other = pl.col("part") != pl.col("chosen")
    had = pl.col("from_stock") + pl.col("to_buy")
    short_parts = _short(lines, offers)
    ask = pl.col("part").is_in(short_parts)
    return (
        lines.join(said, on=_KEY, how="left", maintain_order="left")
        .join(_from_shelf(demand, shelf), on=[*_KEY, "part"], how="left", maintain_order="left")
        .join(_for_spares(demand, shelf), on="part", how="left", maintain_order="left")
        .with_columns(
            pl.when(other).then(pl.lit("fits")).otherwise("verdict").alias("verdict"),
            pl.when(other)
            .then(pl.lit([], dtype=_TEXTS))
            .when(ask)
            .then(pl.concat_list("measure_first", pl.lit(ASK_AGE)))
            .otherwise("measure_first")
            .alias("measure_first"),
            _points(other, ask, had).alias("brief"),
            _care(other).alias("care"),
        )
        .with_columns(points=pl.concat_list("brief", "care"))
    )


def _short(lines: pl.DataFrame, offers: Priced) -> list[str]:
    """Parts not bought for their age, of which pieces are missing."""
    had = pl.col("from_stock") + pl.col("to_buy")
    missing = lines.filter(
        pl.col("part").is_in(list(offers.ask_first)) & (had < pl.col("quantity"))
    )
    return missing["part"].unique().to_list()


def _points(other: pl.Expr, ask: pl.Expr, had: pl.Expr) -> pl.Expr:
    """What to know of a line, most pressing first: pieces short, the shelf's age, pieces beyond."""
    beyond = had - pl.col("quantity")
    pieces = pl.when(beyond == -1).then(pl.lit("piece")).otherwise(pl.lit("pieces"))
    said = [
        pl.when(ask & (beyond < 0)).then(
            pl.format(
                "{} {} short: what is offered is too old to buy unseen, ask for a later date "
                "code or another supplier",
                -beyond,
                pieces,
            )
        ),
        pl.when(other).then(pl.format("from the shelf in place of {}, and fits", "chosen")),
        pl.coalesce("shelf_advice", pl.when(pl.col("spares") > 0).then(pl.col("spare_advice"))),
        pl.when(beyond > 0).then(
            pl.format(
                "{} more than wanted: the least that can be bought, or cheaper by a price break",
                beyond,
            )
        ),
    ]
    return pl.concat_list(*(one.cast(pl.String) for one in said)).list.drop_nulls()


def _care(other: pl.Expr) -> pl.Expr:
    """What to mind where the part fits with care."""
    care = pl.when(~other & (pl.col("verdict") != "fits")).then(pl.col("sentences").list.slice(1))
    return care.fill_null(pl.lit([], dtype=_TEXTS))


def _left(said: pl.DataFrame, machines: pl.DataFrame) -> pl.DataFrame:
    """Positions of the window's machines that nothing is ordered for."""
    return said.join(machines, on="model", maintain_order="left").with_columns(
        pl.col("chosen").alias("part"), pl.col("sentences").alias("points")
    )


def _bare(machines: pl.DataFrame) -> pl.DataFrame:
    """Models whose positions nobody described."""
    text = pl.format(
        "nobody described the places on the board of {}: open one, measure, and enter them with "
        "`fleet add position`",
        "model",
    )
    return machines.with_columns(
        pl.concat_list(text).alias("points"), pl.lit([], dtype=_TEXTS).alias("measure_first")
    )


def _from_shelf(demand: Demand, shelf: OnShelf) -> pl.DataFrame:
    """Advice on the age of what is taken for a position: model, position, part, shelf_advice."""
    return _aged(demand.taken.filter(pl.col("model").is_not_null()), shelf, [*_KEY, "lot_part"])


def _for_spares(demand: Demand, shelf: OnShelf) -> pl.DataFrame:
    taken = demand.taken.filter(pl.col("model").is_null())
    return _aged(taken, shelf, ["lot_part"]).rename({"shelf_advice": "spare_advice"})


def _aged(taken: pl.DataFrame, shelf: OnShelf, key: list[str]) -> pl.DataFrame:
    advice = pl.format("From the shelf: {}", pl.col("advice").str.strip_suffix("."))
    return (
        taken.join(shelf.lots.select("lot", "advice", "age"), on="lot")
        .filter(pl.col("age") != "fine")
        .sort("lot")
        .group_by(key, maintain_order=True)
        .agg(advice.str.join(". ").alias("shelf_advice"))
        .rename({"lot_part": "part"})
    )


def without_care(rows: pl.DataFrame) -> pl.DataFrame:
    """ROWS with `advice` less what `care_rows` says. `rows`: as `order_rows` gives them."""
    careful = pl.col("care").list.len()
    first = pl.col("points").list.head(pl.col("points").list.len() - careful)
    return rows.with_columns(first.alias("points")).select(
        pl.exclude("points", "care", "advice"), joined_sentences("points").alias("advice")
    )


def care_rows(rows: pl.DataFrame) -> pl.DataFrame:
    """Sentence and places ("DQ31 C2, C5; WQ18 C3"): what to mind, each once, in the order of the
    rows. `rows`: as `order_rows` gives them.
    """
    each = rows.select(*_KEY, pl.col("care").alias("sentence")).explode("sentence")
    by_model = (
        each.drop_nulls("sentence")
        .group_by("sentence", "model", maintain_order=True)
        .agg(pl.col("position").unique(maintain_order=True).str.join(", "))
    )
    named = pl.format("{} {}", "model", "position")
    return by_model.group_by("sentence", maintain_order=True).agg(
        named.str.join("; ").alias("places")
    )


def why_rows(best: pl.DataFrame, rows: pl.DataFrame) -> pl.DataFrame:
    """model, position, part, sentence: why each part was chosen, or why none was.

    `rows`: as `order_rows` gives them.
    """
    chosen = best.join(rows, on=_KEY, how="semi", maintain_order="left").select(
        *_KEY, "part", pl.col("sentences").alias("sentence")
    )
    told = rows.select(*_KEY, "part", pl.col("points").alias("sentence"))
    return (
        pl.concat([chosen, told])
        .explode("sentence")
        .drop_nulls("sentence")
        .with_columns(pl.col("sentence").str.strip_chars_end(". "))
        .unique(maintain_order=True)
        .sort("model", natural("position"), "position", nulls_last=True, maintain_order=True)
    )
