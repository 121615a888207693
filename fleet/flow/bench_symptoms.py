"""What a machine does after it was put together wrong: common practice, no source."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Symptom:
    """What a machine does after it was put together wrong, and the likely cause."""

    text: str
    cause: str


# What a wrong reassembly looks like; the likely cause beside it.
SYMPTOMS = (
    Symptom(
        "Each part runs, but at the wrong time or for the wrong button",
        "two look-alike connectors swapped",
    ),
    Symptom(
        "Does not respond as it should to heat, level, door or lid",
        "a sensor badly seated, or its plug not home",
    ),
    Symptom("Display or buttons dead or scrambled, the rest alive", "ribbon not home or askew"),
    Symptom(
        "Dead only once the case is closed, or a panel bulges",
        "a screw in the wrong hole, too long, on a track or a lead",
    ),
    Symptom("Hiss, smell or a bulge within seconds", "a capacitor the wrong way round: off"),
    Symptom("Limiting lamp stays bright", "a short: bridge, wrong way round, or pinched lead"),
    Symptom(
        "Nothing at all, the lamp dark",
        "fuse, a plug left off, or a plated hole that came out with the old lead",
    ),
    Symptom("Hum, resets, or dim display as before", "a track open on one side, or not the cause"),
    Symptom("Rattles or scrapes", "a lead in the fan, or a screw left inside"),
)
