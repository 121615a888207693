"""How long batches last beside what is typical of their model, and where variation lies."""

import altair as alt
import polars as pl

from fleet.charts import theme
from fleet.frames import check_frame

# What `draw_suspects` reads; null effects are left out.
BESIDE = pl.Schema(
    {
        "name": pl.String,
        "model": pl.String,
        "effect": pl.Float64,
        "effect_low": pl.Float64,
        "effect_high": pl.Float64,
        "verdict": pl.String,
        "failures": pl.Float64,
    }
)
# What `draw_shares` reads.
SHARES = pl.Schema({"model": pl.String, "part_of_life": pl.String, "share": pl.Float64})

_ALL = "all models"
_ROW, _AXES = 26, 150
_MOST = 40  # batches on one chart
# Verdicts in the order of the legend, each with a colour and a shape of its own.
_VERDICTS = ("shorter life", "longer life", "differs a little", "like the others", "cannot tell",
             "too few failures", "the other of two")  # fmt: skip
_COLOURS = (1, 2, 4, 0, 3, 5, 2)
_PIECES = {"model": "between models", "batch": "between batches", "chance": "within a batch"}
_TICKS = (0.1, 0.2, 0.3, 0.5, 0.7, 1.0, 1.5, 2.0, 3.0, 5.0, 10.0)


def draw_suspects(rows: pl.DataFrame) -> alt.LayerChart:
    """One line for each batch from its lower to its upper limit, a mark at the middle.

    `rows`: BESIDE, in the order to be drawn; at most 40 are. Times as long run by ratio, so that
    half and twice are equally far from as long.
    """
    check_frame(rows, BESIDE, name="suspects")
    named = pl.format("{} {}", "model", "name")
    shown = rows.filter(pl.col("effect").is_not_null()).head(_MOST).with_columns(group=named)
    low, high = _reach(shown)
    shown = shown.with_columns(
        at=pl.col("effect").clip(low, high),
        from_=pl.coalesce("effect_low", pl.lit(low)).clip(low, high),
        to=pl.coalesce("effect_high", pl.lit(high)).clip(low, high),
    )
    scale = alt.Scale(type="log", domain=[low, high], nice=False)
    ticks = [tick for tick in _TICKS if low <= tick <= high]
    axis = alt.Axis(values=ticks, format="~g", grid=True)
    title = "Times as long as a typical batch of its model"
    y = alt.Y("group:N", title=None, sort=shown["group"].to_list(), axis=_names())
    tooltip = [
        alt.Tooltip("group:N", title="Batch"),
        alt.Tooltip("verdict:N", title="Verdict"),
        alt.Tooltip("effect:Q", title="Times as long", format=".2f"),
        alt.Tooltip("effect_low:Q", title="at least", format=".2f"),
        alt.Tooltip("effect_high:Q", title="at most", format=".2f"),
        alt.Tooltip("failures:Q", title="Failures", format=".1f"),
    ]
    colour = alt.Color(
        "verdict:N",
        scale=_scale([theme.COLOURS[i] for i in _COLOURS]),
        legend=theme.legend(),
    )
    lines = (
        alt.Chart(shown)
        .mark_rule(strokeWidth=2.5)
        .encode(x=alt.X("from_:Q", scale=scale, title=title, axis=axis), x2="to:Q", y=y,
                color=colour, tooltip=tooltip)
    )  # fmt: skip
    marks = (
        alt.Chart(shown)
        .mark_point(size=90, filled=True, opacity=1)
        .encode(
            x=alt.X("at:Q", scale=scale, title=title, axis=axis),
            y=y,
            color=colour,
            shape=alt.Shape(
                "verdict:N",
                scale=_scale(list(theme.SHAPES[: len(_VERDICTS)])),
                legend=theme.legend(),
            ),
            tooltip=tooltip,
        )
    )
    same = (
        alt.Chart(pl.DataFrame({"at": [1.0]}))
        .mark_rule(strokeDash=[4, 4], color=theme.COLOURS[-1])
        .encode(x=alt.X("at:Q", scale=scale, title=title, axis=axis))
    )
    return alt.LayerChart(layer=[same, lines, marks]).properties(
        height=_ROW * max(shown.height, 1) + _AXES
    )


def draw_shares(shares: pl.DataFrame) -> alt.Chart:
    """Shares of the variation of life, one bar for each model and one for all together.

    `shares`: SHARES of one kind of parts; model null: all models together.
    """
    check_frame(shares, SHARES, name="shares")
    shares = shares.filter(pl.col("part_of_life").is_in(list(_PIECES)))  # those that add up
    total = pl.col("share").sum().over("model")
    data = shares.with_columns(
        pl.col("model").fill_null(_ALL),
        share=pl.col("share") / total,  # medians of shares need not add up
        place=pl.col("part_of_life").replace_strict(
            {name: i for i, name in enumerate(_PIECES)}, default=9, return_dtype=pl.Int64
        ),
        piece=pl.col("part_of_life").replace(_PIECES),
    )
    pieces = alt.Scale(
        domain=list(_PIECES.values()), range=list(theme.COLOURS[i] for i in (0, 1, 5))
    )
    names = data["model"].unique(maintain_order=True).to_list()
    order = sorted(names, key=lambda name: name != _ALL)
    drawn: alt.Chart = (
        alt.Chart(data)
        .mark_bar(stroke="#FFFFFF", strokeWidth=1)
        .encode(
            x=alt.X(
                "share:Q",
                title="Share of the variation of life",
                axis=alt.Axis(format="%"),
                scale=alt.Scale(domain=[0, 1]),
            ),
            y=alt.Y(
                "model:N",
                title=None,
                sort=order,
                axis=_names(),
            ),
            color=alt.Color("piece:N", scale=pieces, legend=theme.legend()),
            order=alt.Order("place:Q"),
            tooltip=[
                alt.Tooltip("model:N", title="Model"),
                alt.Tooltip("piece:N", title="Lies"),
                alt.Tooltip("share:Q", title="Share", format=".0%"),
            ],
        )
        .properties(height=_ROW * max(len(order), 1) + _AXES)
    )
    return drawn


def _names() -> alt.Axis:
    return alt.Axis(labelLimit=150, labelOverlap=False, labelFlush=False, labelBound=False)


def _scale(values: list[str]) -> alt.Scale:
    return alt.Scale(domain=list(_VERDICTS), range=values)


def _reach(shown: pl.DataFrame) -> tuple[float, float]:
    ends = pl.concat([shown["effect_low"], shown["effect_high"], shown["effect"]]).drop_nulls()
    ends = ends.filter(ends > 0.0)
    least, most = float(ends.min() or 1.0), float(ends.max() or 1.0)  # type: ignore[arg-type]
    return max(min(least / 1.1, 0.6), 0.05), min(max(most * 1.1, 1.7), 20.0)
