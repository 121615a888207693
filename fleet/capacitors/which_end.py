"""How the ends of a capacitor are told apart, by its form and kind. METHODS: which-end.

Common practice and makers' drawings, from memory. The mark on the part itself and in the board
come first wherever they say something else.
"""

from dataclasses import dataclass

_TANTALUM = ("tantalum", "polymer chip", "moulded")
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
        return WhichEnd(
            False, "No polarity: either way round. A polarised part must never stand in here."
        )
    if any(word in kind for word in _TANTALUM):
        return WhichEnd(True, _TANTALUM_MARK)
    return WhichEnd(True, _MARKS.get(lead_form or "", _UNKNOWN))


_TANTALUM_MARK = (
    "Tantalum, or moulded polymer chip: the stripe or plus sign marks the POSITIVE end, the "
    "opposite of an aluminium can."
)
_UNKNOWN = (
    "Form not recorded: find the stripe or arrow on the sleeve (negative on an aluminium can) and "
    "the sign in the board before it comes out."
)
_MARKS = {
    "axial": (
        "Axial: the indented end, with the rubber seal, is positive; the can is negative, and "
        "arrows on the sleeve point to it."
    ),
    "radial": "Radial: the stripe is the negative lead; on a new part the longer lead is positive.",
    "snap-in": "Snap-in: the stripe is the negative terminal.",
    "smd": "Surface-mount can: the black bar on its top is the negative end.",
}
