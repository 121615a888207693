"""How the ends of a capacitor are told apart, by its form and kind. METHODS: which-end.

Common practice and makers' drawings, from memory. The mark on the part itself and in the board
come first wherever they say something else.
"""

from dataclasses import dataclass

_TANTALUM = "tantalum"
_CHIPS = ("polymer chip", "moulded", "molded")
_POLYMER = "polymer"
_TWO_WAYS = ("non-polar", "non polar", "nonpolar", "bipolar")
_NEVER_POLAR = ("film", "ceramic", "paper", "mica")


@dataclass(frozen=True, slots=True)
class WhichEnd:
    """`polar` false: either way round. `mark`: how the positive or negative end is known."""

    polar: bool
    mark: str


def which_end(
    lead_form: str | None, technology: str | None = None, polarity_note: str | None = None
) -> WhichEnd:
    """How to know the ends of a part of a lead form (axial, radial, snap-in, smd) and technology.

    Anything in `technology` or `polarity_note` that says the part has no polarity settles that.
    """
    kind = (technology or "").lower()
    said = f"{kind} {(polarity_note or '').lower()}"
    if any(word in said for word in _TWO_WAYS) or any(word in kind for word in _NEVER_POLAR):
        return WhichEnd(False, "no polarity: either way round; a polarised part must never go in.")
    form = lead_form or ""
    if _TANTALUM in kind:
        return WhichEnd(True, _TANTALUMS.get(form, _TANTALUM_OF_NO_FORM))
    if any(word in kind for word in _CHIPS):
        return WhichEnd(True, _MOULDED)
    if _POLYMER in kind and form == "smd":
        return WhichEnd(True, f"{_MARKS['smd']} If it is a flat {_MOULDED}")
    return WhichEnd(True, _MARKS.get(form, _UNKNOWN))


_MOULDED = "moulded chip: the stripe is the POSITIVE end, the opposite of a can."
_TANTALUM_OF_NO_FORM = (
    "tantalum of a form not recorded: the plus sign is the POSITIVE end; the stripe of a moulded "
    "chip is POSITIVE too, the opposite of an aluminium can."
)
_TANTALUMS = {
    "smd": f"tantalum, {_MOULDED}",
    "radial": "tantalum bead: the plus sign and the longer lead are the POSITIVE end.",
    "axial": "tantalum, axial: the plus sign, at the end with the bead or seal, is POSITIVE.",
}
_UNKNOWN = (
    "form not recorded: find the stripe or arrow on the sleeve (negative on a can) and the sign in "
    "the board before it comes out."
)
_MARKS = {
    "axial": (
        "axial: the indented end, with the rubber seal, is positive; the can is negative, and "
        "arrows on the sleeve point to it."
    ),
    "radial": "radial can: the stripe is the negative lead; before it is cut, the longer lead is "
    "positive.",
    "snap-in": "snap-in: the stripe is the negative terminal.",
    "smd": "surface-mount can: the black bar on its top is the negative end.",
}
