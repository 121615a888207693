"""Bringing back the oxide of a capacitor that has lain: when, how, and what to mind.

Sources: a maker's storage page (Chemi-Con FAQ, storage): rated voltage through about 1 kohm for 30
to 60 minutes; a maker's note (quoted on a forum, maker unnamed): no treatment needed within two
years at 5 to 35 °C, and how parts already fitted are treated. METHODS: shelf
"""

FINE_YEARS = 2.0
MINUTES = (30, 60)
_TOUCH_SAFE_VOLTS = 50.0  # above this shocks hurt; common practice, the limit in force is local

_LOOSE = (
    "A part not yet fitted: from a bench supply with its current limited, through about 1 kohm, "
    f"raise slowly to the rated voltage and hold it for {MINUTES[0]} to {MINUTES[1]} minutes (a "
    "maker's storage page)."
)
_FITTED = (
    "A part already fitted: run the machine about 10 minutes at about half its voltage, then raise "
    "slowly; where the voltage cannot be set, 30 minutes at full voltage (a maker's note). Half "
    "voltage is not for machines with a motor or a switching supply: they then draw more current."
)
_AFTER = (
    "Then discharge it through a resistor, measure that it is empty, and measure leakage, "
    "capacitance and ESR: a part that draws on, grows warm or bulges goes to the bin."
)
_CARE = (
    "Polarity first; cover the part and keep your face away from its vent; do not leave it alone."
)
_HIGH = (
    "At {volts:g} V this can kill: it is for somebody qualified, by the local rules, with a supply "
    "made for it and the resistor rated for the heat."
)


def reforming_steps(rated_volts: float | None = None) -> tuple[str, ...]:
    """How to reform a part, cautions first; `rated_volts` None is taken as high."""
    high: tuple[str, ...] = ()
    if rated_volts is None:
        high = (_HIGH.replace("At {volts:g} V this can kill", "Above 50 V this can kill"),)
    elif rated_volts > _TOUCH_SAFE_VOLTS:
        high = (_HIGH.format(volts=rated_volts),)
    return (*high, _CARE, _LOOSE, _FITTED, _AFTER)
