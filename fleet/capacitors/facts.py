"""Facts of places and parts in one form: numbers, and the few words that rules turn on."""

import polars as pl

from fleet.capacitors.current import with_current
from fleet.capacitors.preferred_values import is_preferred
from fleet.capacitors.tolerance import tolerance
from fleet.capacitors.values import farads, farads_said, filled

NUMBERS = (
    *("voltage", "temperature", "diameter_mm", "length_mm", "lead_spacing_mm", "clearance_mm"),
    *("headroom_mm", "ripple_ma", "esr_ohm", "rated_hours"),
)
TEXTS = (
    *("capacitance", "tolerance", "lead_form", "polarity_note", "technology", "safety_class"),
    *("role", "notes", "series", "current", "grounded_end"),
)
FACTS = (*NUMBERS, *TEXTS, "ground_referenced")

# Sets that ask for 8 or 50 µF were made when -10/+50 % was usual (IEC 60062 letter T); today's
# aluminium parts are ±20 % (letter M). From memory.
_USUAL, _USUAL_OF_OLD = 0.2, (0.1, 0.5)

_NON_POLAR = r"(?i)non[-\s]?polar|bi[-\s]?polar|unpolar|\bnp\b|\bbp\b"
_KINDS = (
    # the order matters: an "aluminium polymer" is a polymer, a "polymer tantalum" one too
    ("film", r"(?i)film|foil capacitor|polyest|polyprop|\bmk[pst]\b|paper"),
    ("ceramic", r"(?i)ceramic|mlcc|x[57][rs]|\bnp0\b|\bc0g\b"),
    ("hybrid", r"(?i)hybrid"),
    ("polymer", r"(?i)polymer|organic"),
    ("tantalum", r"(?i)tantal|\bta\b"),
    ("aluminium", r"(?i)alumi|electrolytic|\belko\b|\bal\b"),
)
_OF_ENDS = r"(?i)positive|negative|\bplus\b|\bminus\b|polarity|\bground|\bgnd\b|stripe|indented"
# What a place does, in the order in which words decide.
_USES = (
    ("line filter", r"(?i)across (the )?(mains|line)|line to (earth|ground)|mains filter|suppress"),
    ("regulator", r"(?i)regulator|\bldo\b"),
    ("rectifier", r"(?i)reservoir|rectifier|smoothing|\bbulk\b|\bprimary\b|mains"),
    ("value", r"(?i)reset|delay|timing|oscillat|coupling|crossover|sensor filter"),
    ("supply", r"(?i)output|suppl|\bpsu\b|\brail\b|decoupl|bypass|start-?up|\d\s*V\b"),
    ("value", r"(?i)timer|tone|audio"),
)


def with_facts(frame: pl.DataFrame) -> pl.DataFrame:
    """`frame` with every column of FACTS (null where it has none) and what rules read off them.

    Adds capacitance_f (farads), capacitance_said, low_f and high_f (farads by tolerance, the usual
    one where none is told), old_value (not of the series E12: made no more), esr_told, kind (of
    capacitor), non_polar, x_class and y_class (1 the highest), use (of the place), may_be_ac and
    current (see with_current), end_note (what was written of the place's ends, in quotes).
    """
    notes = pl.concat_str("polarity_note", "technology", "series", separator=" ", ignore_nulls=True)
    safety = pl.col("safety_class").str.to_uppercase()
    # Step by step: an expression inside an expression would be worked out again at every mention.
    read = _complete(frame).with_columns(
        capacitance_f=farads(pl.col("capacitance")),
        _spread=tolerance(pl.col("tolerance")),
        kind=kind_of(pl.col("technology")),
        non_polar=notes.str.contains(_NON_POLAR).fill_null(value=False),
        x_class=safety.str.extract(r"X([123])").cast(pl.Int8),
        y_class=safety.str.extract(r"Y([1234])").cast(pl.Int8),
        safety_class=safety,
        use=use_of(pl.coalesce("role", "notes")),
        end_note=_quoted_of_ends(),
    )
    value, spread, old = pl.col("capacitance_f"), pl.col("_spread").struct, pl.col("old_value")
    low = pl.when(old).then(_USUAL_OF_OLD[0]).otherwise(_USUAL)
    high = pl.when(old).then(_USUAL_OF_OLD[1]).otherwise(_USUAL)
    return (
        read.with_columns(
            capacitance_said=farads_said(value),
            esr_told=pl.col("esr_ohm").is_not_null(),
            old_value=~is_preferred(value),
            non_polar=pl.col("non_polar")
            | pl.col("kind").is_in(["film", "ceramic"]).fill_null(value=False),
        )
        .pipe(with_current)
        .with_columns(
            low_f=value * (1.0 - pl.coalesce(spread.field("low"), low)),
            high_f=value * (1.0 + pl.coalesce(spread.field("high"), high)),
        )
        .drop("_spread")
    )


def _quoted_of_ends() -> pl.Expr:
    """Notes in which somebody wrote of a place's ends, each in quotes."""
    said = [
        pl.when(pl.col(name).str.contains(_OF_ENDS)).then(filled('"{}"', pl.col(name)))
        for name in ("polarity_note", "notes")
    ]
    return pl.concat_str(said, separator=" and ", ignore_nulls=True).replace("", None)


def kind_of(technology: pl.Expr) -> pl.Expr:
    """aluminium, polymer, hybrid, tantalum, film or ceramic; null where the text says none."""
    return pl.coalesce(pl.when(technology.str.contains(p)).then(pl.lit(k)) for k, p in _KINDS)


def use_of(role: pl.Expr) -> pl.Expr:
    """What a place does, as far as its role says: behind the rectifier or a regulator, a supply,
    where the value itself matters (timing, coupling), between the lines; else null.
    """
    return pl.coalesce(pl.when(role.str.contains(p)).then(pl.lit(u)) for u, p in _USES)


def _complete(frame: pl.DataFrame) -> pl.DataFrame:
    missing = [pl.lit(None).alias(name) for name in FACTS if name not in frame.columns]
    return frame.with_columns(missing).with_columns(
        pl.col(NUMBERS).cast(pl.Float64),
        pl.col(TEXTS).cast(pl.String).str.strip_chars().replace("", None),
        pl.col("ground_referenced").cast(pl.Boolean),
    )
