"""What is said wherever somebody is sent to open or measure a machine. Common practice."""

CAUTION = (
    "Before anyone opens or measures a machine: unplug it, wait, measure, discharge through a "
    "resistor, measure again. Local rules say who may work on mains appliances."
)


def may_hurt(volts: float | None) -> bool:
    """Whether a charged place of that rated voltage is dangerous to touch."""
    from fleet.capacitors.both_ends import HARMFUL

    return (volts or 0.0) >= HARMFUL
