"""The order as a purchaser needs it: one row a part and supplier."""

import polars as pl

from fleet.decisions.purchase import Purchase
from fleet.flow.order_prices import Priced
from fleet.flow.order_window import Window
from fleet.frames.tables import F, N, S

_UNITS_NAMED = 24  # machines named in a row; the rest are counted

BUY = pl.Schema(
    {
        "part": S,
        "description": S,
        "quantity": N,
        "unit_price": F,
        "line_total": F,
        "currency": S,
        "supplier": S,
        "positions": S,
        "units": S,
        "lead_days": F,
        "date_code": S,
        "date_code_advice": S,
    }
)


def buy_rows(
    lines: pl.DataFrame,
    purchase: Purchase,
    offers: Priced,
    told: pl.DataFrame,
    window: Window,
) -> pl.DataFrame:
    """BUY: one row a part and supplier, with what it is and what it is for."""
    use = (
        lines.filter(pl.col("to_buy") > 0)
        .group_by("part", maintain_order=True)
        .agg(
            pl.format("{} {}", "model", "position").str.join(", ").alias("positions"),
            pl.col("model").unique(maintain_order=True).alias("models"),
        )
    )
    facts = _facts(told)
    sold = offers.offers.unique(["part", "supplier"], keep="last", maintain_order=True).select(
        "part", "supplier", "lead_days", "date_code", pl.col("shelf").alias("date_code_advice")
    )
    return (
        purchase.lines.join(use, on="part", how="left", maintain_order="left")
        .join(facts, on="part", how="left", maintain_order="left")
        .join(sold, on=["part", "supplier"], how="left", nulls_equal=True, maintain_order="left")
        .with_columns(
            pl.col("pieces").alias("quantity"),
            pl.col("cost").alias("line_total"),
            pl.lit(offers.currency, dtype=pl.String).alias("currency"),
            _units(window).alias("units"),
        )
        .select(pl.col(name).cast(dtype) for name, dtype in BUY.items())
    )


def _units(window: Window) -> pl.Expr:
    """Names of the machines of a row's `models`, the first of them where they are many."""
    jobs = window.jobs.sort("unit")
    of = {m: mine["unit"].to_list() for (m,), mine in jobs.group_by("model", maintain_order=True)}

    def named(models: pl.Series) -> str:
        names = sorted(name for model in models for name in of.get(model, []))
        more = len(names) - _UNITS_NAMED
        listed = ", ".join(names[:_UNITS_NAMED])
        return listed if more <= 0 else f"{listed} and {more:,} more"

    return pl.col("models").map_elements(named, return_dtype=pl.String)


def _facts(offers: pl.DataFrame) -> pl.DataFrame:
    """part, description: what a purchaser asks for, as printed on a part."""

    def told(column: str, form: str) -> pl.Expr:
        number = pl.col(column).cast(pl.String).str.strip_suffix(".0")
        return pl.when(pl.col(column).is_not_null()).then(pl.format(form, number))

    first = pl.exclude("part").drop_nulls().first()
    size = pl.when(pl.all_horizontal(pl.col("diameter_mm", "length_mm").is_not_null())).then(
        pl.format(
            "{} x {} mm",
            pl.col("diameter_mm").cast(pl.String).str.strip_suffix(".0"),
            pl.col("length_mm").cast(pl.String).str.strip_suffix(".0"),
        )
    )
    return (
        offers.group_by("part", maintain_order=True)
        .agg(first)
        .select(
            "part",
            pl.concat_str(
                told("capacitance", "{}"),
                told("tolerance", "±{}"),
                told("voltage", "{} V"),
                told("temperature", "{} °C"),
                size,
                told("lead_form", "{}"),
                told("lead_spacing_mm", "leads {} mm apart"),
                told("technology", "{}"),
                told("ripple_ma", "ripple at least {} mA"),
                told("esr_ohm", "ESR at most {} ohm"),
                told("rated_hours", "{} h rated life"),
                told("safety_class", "class {}"),
                told("series", "series {}"),
                pl.lit("no substitute without asking"),
                separator=", ",
                ignore_nulls=True,
            ).alias("description"),
        )
    )
