"""Which end the mark of a part is on, by its form and kind, for rules of stand-ins.

Common practice and makers' drawings, from memory; the part's own marks come first.
"""

from collections.abc import Callable

import polars as pl

_CHIP = "its stripe is the POSITIVE end"
_CAN = "the bar on its top is the negative end"
_MARKS = {
    "radial": "its stripe is the negative lead, the longer lead the positive",
    "snap-in": "its stripe is the negative terminal",
    "axial": "its indented end, or the one with a plus, is the positive",
}
_LEADED_TANTALUM = "its plus sign or the longer lead is the positive end"


def mark_of(side: Callable[[str], pl.Expr]) -> pl.Expr:
    """The mark of the part on a `side` (rule.place or rule.part) by its kind and lead form."""
    kind, form, words = side("kind"), side("lead_form"), side("technology").fill_null("")
    chip = words.str.contains("(?i)chip|mou?lded")
    can = words.str.contains(r"(?i)\bv?-?can\b")
    solid = kind.is_in(["tantalum", "polymer", "hybrid"])
    return (
        pl.when((kind == "tantalum") & (form == "smd") | (solid & chip))
        .then(pl.lit(_CHIP))
        .when(kind == "tantalum")
        .then(
            pl.when(form.is_null())
            .then(pl.lit(f"on a chip {_CHIP}, with leads {_LEADED_TANTALUM}"))
            .otherwise(pl.lit(_LEADED_TANTALUM))
        )
        .when((form == "smd") & ((kind == "aluminium") | can))
        .then(pl.lit(_CAN))
        .when(form == "smd")
        .then(pl.lit(f"as a moulded chip {_CHIP}, as a round can {_CAN}"))
        .otherwise(
            form.replace_strict(
                _MARKS, default="see which end its mark is on", return_dtype=pl.String
            )
        )
    )
