"""Facts of a place or a part that cannot all be true, each in one sentence."""

from collections.abc import Sequence

import polars as pl

from fleet.capacitors.facts import with_facts
from fleet.capacitors.tolerance import tolerance
from fleet.capacitors.values import filled, number_said

_HOTTEST, _COOLEST = 250.0, 40.0  # °C; ratings lie between
_NAMES = {
    "voltage": "the voltage",
    "diameter_mm": "the diameter",
    "length_mm": "the length",
    "lead_spacing_mm": "the lead spacing",
    "headroom_mm": "the height under the cover",
    "ripple_ma": "the ripple current",
    "esr_ohm": "the ESR",
    "rated_hours": "the rated life",
}


def contradictions(frame: pl.DataFrame, *, of: Sequence[str]) -> pl.DataFrame:
    """Rows of `frame` whose facts contradict one another: the columns `of`, sentence.

    `of` names what a row is about (model and position, or part); a row may have several sentences.
    """
    known = with_facts(frame)
    found = [
        known.filter(where.fill_null(value=False)).select(*of, sentence=sentence)
        for where, sentence in (*_numbers(), *_texts(), *_bodies())
    ]
    order = known.select(of).with_row_index("_row").unique(of, keep="first", maintain_order=True)
    every = pl.concat(found).join(order, on=list(of), how="left", nulls_equal=True)
    return every.sort("_row", maintain_order=True).drop("_row")


def _n(column: str) -> pl.Expr:
    return number_said(pl.col(column))


def _numbers() -> list[tuple[pl.Expr, pl.Expr]]:
    out = [
        (
            pl.col(column) <= 0.0,
            filled(f"{words} is {{}}: it has to be above zero", _n(column)),
        )
        for column, words in _NAMES.items()
    ]
    heat = pl.col("temperature")
    out.append(
        (
            (heat < _COOLEST) | (heat > _HOTTEST),
            filled(
                "a temperature rating of {} °C is none that capacitors have; 85, 105 and 125 are "
                "usual",
                _n("temperature"),
            ),
        )
    )
    out.append(
        (pl.col("clearance_mm") < 0.0, filled("the clearance {} is below zero", _n("clearance_mm")))
    )
    return out


def _texts() -> list[tuple[pl.Expr, pl.Expr]]:
    text, value = pl.col("capacitance"), pl.col("capacitance_f")
    bare = text.str.contains(r"^[\d\s.,]+$")
    safety = pl.col("safety_class")
    unread = tolerance(pl.col("tolerance")).struct.field("low").is_null()
    return [
        (
            ~pl.col("ground_referenced") & pl.col("grounded_end").is_not_null(),
            filled(
                "no end is tied to ground (ground_referenced no), and the {} end is "
                "(grounded_end): correct one of them",
                pl.col("grounded_end"),
            ),
        ),
        (
            text.is_not_null() & value.is_null() & bare,
            filled("the capacitance {} has no unit: write {}uF, {}nF or {}pF", *[text] * 4),
        ),
        (
            text.is_not_null() & value.is_null() & ~bare,
            filled("the capacitance {} does not name one value; write it like 1000uF or 4u7", text),
        ),
        (value <= 0.0, pl.lit("the capacitance is zero")),
        (
            pl.col("tolerance").is_not_null() & unread,
            filled(
                "the tolerance {} is not read; write it like 20%, M or -10/+50", pl.col("tolerance")
            ),
        ),
        (
            safety.is_not_null() & pl.col("x_class").is_null() & pl.col("y_class").is_null(),
            filled(
                "{} is no safety class; they are X1, X2, X3 and Y1 to Y4 (IEC 60384-14)", safety
            ),
        ),
        (
            (pl.col("x_class").is_not_null() | pl.col("y_class").is_not_null())
            & pl.col("kind").is_in(["aluminium", "polymer", "hybrid", "tantalum"]),
            filled(
                "class {} and {} exclude one another: safety capacitors are film or ceramic",
                safety,
                pl.col("kind"),
            ),
        ),
    ]


def _bodies() -> list[tuple[pl.Expr, pl.Expr]]:
    form = pl.col("lead_form")
    wide, long, apart = (pl.col(c) for c in ("diameter_mm", "length_mm", "lead_spacing_mm"))
    high = pl.when(form == "axial").then(wide).otherwise(long)
    return [
        (
            (form == "axial") & (wide > long),
            filled(
                "an axial body cannot be wider ({} mm) than long ({} mm): are they the wrong way "
                "round?",
                _n("diameter_mm"),
                _n("length_mm"),
            ),
        ),
        (
            (form == "axial") & (apart < long),
            filled(
                "holes {} mm apart are a radial part's; an axial body {} mm long does not go "
                "between them",
                _n("lead_spacing_mm"),
                _n("length_mm"),
            ),
        ),
        (
            form.is_in(["radial", "snap-in"]) & (apart > wide),
            filled(
                "leads {} mm apart do not come out of a {} body {} mm across",
                _n("lead_spacing_mm"),
                form,
                _n("diameter_mm"),
            ),
        ),
        (
            high > pl.col("headroom_mm"),
            filled(
                "the old part is {} mm high and the height under the cover {} mm: one of the two "
                "is wrong",
                number_said(high),
                _n("headroom_mm"),
            ),
        ),
    ]
