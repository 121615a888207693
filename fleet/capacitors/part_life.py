"""How long an aluminium electrolytic is expected to last where it sits: an upper estimate.

L = rated hours x temperature factor x ripple factor x voltage factor (`ten_kelvin.py`,
`ripple_heat.py`, `voltage_factor.py`), and no claim beyond fifteen years: a maker's calculator
calls that "generally considered to be the maximum" (Nichicon, note 4), since seals age too. This is
wear-out; random failures (handbook rates) are another matter and are not mixed in.
METHODS: part-life
"""

import math
from dataclasses import dataclass

import polars as pl

from fleet.capacitors.end_of_life import criterion_words
from fleet.capacitors.ripple_heat import (
    CORE_RISE_K,
    Ripple,
    factor_by_core_rise,
    factor_by_ripple_base,
    joined_ripple,
)
from fleet.capacitors.ten_kelvin import LEAST_C, range_words, temperature_factor
from fleet.capacitors.voltage_factor import LEAST_SHARE, check_volts, voltage_factor
from fleet.errors import BadInput

HOURS_PER_YEAR = 8760.0
MOST_YEARS = 15.0  # 131,400 h, as a maker of controllers has it too (Beckhoff, PS9011 manual)
_NO_LIQUID = ("polymer", "solid", "tantal", "niob", "film", "ceramic", "hybrid")
# What is taken at all, wide of any part made, so that no rule runs out of numbers; our own rule.
_RANGES = {
    "rated hours": (1.0, 1_000_000.0),
    "rated temperature": (40.0, 250.0),
    "rated ripple": (0.001, math.inf),
    "core rise": (0.1, 30.0),
    "number of powered hours a year": (1.0, math.inf),
}
PROMISE = "An upper estimate by the maker's rule, not a promise."


@dataclass(frozen=True, slots=True, kw_only=True)
class Rated:
    """What a part is rated for: hours at a temperature (°C), volts, ripple; None where unknown."""

    hours: float
    temperature_c: float
    volts: float | None = None
    ripple_ma: float | None = None
    technology: str | None = None
    core_rise_k: float = CORE_RISE_K


@dataclass(frozen=True, slots=True, kw_only=True)
class Use:
    """How it is used: air beside it while it runs (°C), ripple, volts, powered hours a year.

    `ripple` empty: not known. `off_c`: air while unpowered; None leaves those hours out.
    """

    air_c: float
    ripple: tuple[Ripple, ...] = ()
    volts: float | None = None
    hours_per_year: float = HOURS_PER_YEAR
    off_c: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLife:
    """A life: powered `hours` by the rules, `years` of service (at most fifteen), and why.

    `years_by_rule`: before the cap. `warnings`: where a rule is loose; `sentences` has them too.
    """

    hours: float
    years: float
    years_by_rule: float
    capped: bool
    temperature_factor: float
    ripple_factor: float
    voltage_factor: float
    sentences: tuple[str, ...]
    warnings: tuple[str, ...]


def part_life(
    rated: Rated, use: Use, *, large_can: bool = False, criterion: str | None = None
) -> PartLife:
    """The expected life of a part in use.

    `large_can`: a snap-in or screw-terminal part, for which running below the rated voltage is
    counted as gain. `criterion`: the table its hours run to ("endurance" or "useful life"), where
    known. Raises BadInput for facts that cannot be, air above the rated temperature, volts above
    the rated, and parts the rule is not made for (no liquid electrolyte).
    """
    _check(rated, use)
    warnings: list[str] = []
    warm, said_heat = _heat(rated, use.air_c, warnings)
    rippled, said_ripple = _ripple(rated, use, warnings)
    gained, said_volts = _volts(rated, use, large_can=large_can)
    hours = rated.hours * warm * rippled * gained
    rule, said_years = _years(rated, use, hours)
    years = min(rule, MOST_YEARS)
    cap = _cap_words(rule)
    limits = criterion_words(criterion)
    sentences = (said_heat, said_ripple, said_volts, said_years, *cap, limits, *warnings, PROMISE)
    return PartLife(
        hours=hours,
        years=years,
        years_by_rule=rule,
        capped=rule > MOST_YEARS,
        temperature_factor=warm,
        ripple_factor=rippled,
        voltage_factor=gained,
        sentences=sentences,
        warnings=tuple(warnings),
    )


def years_of_units(rated: Rated, air_c: pl.Expr, hours_per_year: pl.Expr) -> pl.Expr:
    """Years of one part in many machines, as `part_life` has them without ripple and volts.

    Blank air counts as 40 °C (makers reckon no cooler), blank hours as powered all the time. Air
    above the rated temperature shortens the life by the same rule. Raises BadInput as `part_life`.
    """
    _check(rated, Use(air_c=LEAST_C))
    air = pl.max_horizontal(air_c.fill_null(LEAST_C), pl.lit(LEAST_C))
    hours = rated.hours * pl.lit(2.0).pow((rated.temperature_c - air) / 10.0)
    used = hours_per_year.fill_null(HOURS_PER_YEAR)
    return pl.min_horizontal(hours / used, pl.lit(MOST_YEARS))


def _check(rated: Rated, use: Use) -> None:
    numbers = {
        "rated hours": (rated.hours, "h"),
        "rated temperature": (rated.temperature_c, "°C"),
        "rated volts": (rated.volts, "V"),
        "rated ripple": (rated.ripple_ma, "mA"),
        "core rise": (rated.core_rise_k, "K"),
        "number of powered hours a year": (use.hours_per_year, "h"),
    }
    for what, (value, unit) in numbers.items():
        if value is None:
            continue
        if not (math.isfinite(value) and value > 0.0):
            raise BadInput(f"the {what} cannot be {value:g}; give a number above zero")
        least, most = _RANGES.get(what, (0.0, math.inf))
        if not least <= value <= most:
            to = "and more" if most == math.inf else f"to {most:,.0f}"
            raise BadInput(
                f"the {what} cannot be {value:g} {unit}: {least:g} {to} {unit} are taken"
            )
    if use.hours_per_year > 8784.0:
        raise BadInput(f"a year has 8,760 hours, not {use.hours_per_year:g}; give fewer")
    for air in (use.air_c, use.off_c):
        if air is not None and not -60.0 <= air <= rated.temperature_c:
            raise BadInput(
                f"air of {air:g} °C is outside what a part of {rated.temperature_c:g} °C is made "
                "for (down from its rated temperature); give the air beside the part, or choose a "
                "part rated higher"
            )
    told = (rated.technology or "").lower()
    if any(word in told for word in _NO_LIQUID):
        raise BadInput(
            f"the ten-kelvin rule is for aluminium with liquid electrolyte, not for {told}; "
            "take the life from the maker's own formula"
        )


def _heat(rated: Rated, air_c: float, warnings: list[str]) -> tuple[float, str]:
    counted = max(air_c, LEAST_C)
    factor = temperature_factor(rated.temperature_c, counted)
    loose = range_words(counted, rated.temperature_c)
    if loose:
        warnings.append(loose)
    words = (
        f"{rated.hours:,.0f} h at {rated.temperature_c:g} °C, in air of {air_c:g} °C: times "
        f"{factor:.3g} by the ten-kelvin rule."
    )
    if air_c < LEAST_C:
        words += f" Counted as {LEAST_C:g} °C: makers reckon no cooler, so nothing is gained below."
    return factor, words


def _ripple(rated: Rated, use: Use, warnings: list[str]) -> tuple[float, str]:
    """The shorter life of the two published forms; 1 where the ripple is not known."""
    if not use.ripple:
        return 1.0, (
            "Ripple not told: counted as at its rated ripple (where the maker tested without any, "
            "ripple shortens the life from there)."
        )
    if rated.ripple_ma is None:
        raise BadInput("the part's rated ripple is unknown; give it, or leave the ripple out")
    flowing = joined_ripple(use.ripple)
    share = flowing / rated.ripple_ma
    by_base = factor_by_ripple_base(share, rated.temperature_c, rated.core_rise_k)
    head = f"Ripple of {flowing:,.0f} mA, {100 * share:.0f} % of the rated"
    if share > 1.0:
        warnings.append(
            "The ripple is above what the part is rated for: makers do not permit it. Choose one "
            "rated for more; the number only shows how fast this one would go."
        )
        return (
            by_base,
            f"{head}: times {by_base:.3g} by the form that goes beyond the rated ripple.",
        )
    by_rise = factor_by_core_rise(share, rated.core_rise_k)
    lower = min(by_base, by_rise)
    both = f"{by_rise:.4g} by the core's rise, {by_base:.4g} by the ripple's share"
    return lower, f"{head}: times {both}; the lower counts."


def _volts(rated: Rated, use: Use, *, large_can: bool) -> tuple[float, str]:
    if use.volts is None or rated.volts is None:
        return 1.0, "Volts not told: counted as at its rated voltage."
    check_volts(use.volts, rated.volts)
    head = f"{use.volts:g} V of {rated.volts:g} V"
    if not large_can:
        return 1.0, f"{head}: nothing gained; makers of small parts count no gain below the rated."
    factor = voltage_factor(use.volts, rated.volts)
    more = (
        f", no more below {100 * LEAST_SHARE:.0f} %"
        if use.volts < LEAST_SHARE * rated.volts
        else ""
    )
    return factor, f"{head}: times {factor:.3g} for a large can{more} (its series may differ)."


def _years(rated: Rated, use: Use, hours: float) -> tuple[float, str]:
    """Years of service; wear while on and while off add up as shares of a life."""
    worn = use.hours_per_year / hours
    words = f"{hours:,.0f} powered hours, at {use.hours_per_year:,.0f} h a year"
    off = max(HOURS_PER_YEAR - use.hours_per_year, 0.0)
    if use.off_c is not None and off > 0.0:
        idle = rated.hours * temperature_factor(rated.temperature_c, max(use.off_c, LEAST_C))
        worn += off / idle
        words += f" and the other {off:,.0f} h in air of {use.off_c:g} °C"
    elif off > 0.0:
        words += ", the hours without power not counted though they age it too"
    return 1.0 / worn, f"{words}: {_say_years(1.0 / worn)}."


def _say_years(years: float) -> str:
    return f"{years:,.1f} years" if years < 1000.0 else "over 1,000 years"


def _cap_words(rule: float) -> tuple[str, ...]:
    if rule <= MOST_YEARS:
        return ()
    return (
        f"Capped at {MOST_YEARS:g} years: makers claim no more, since seals age whatever the heat.",
    )
