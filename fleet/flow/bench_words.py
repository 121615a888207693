"""What every bench sheet says, whatever the machine: sentences of the trade, with their sources.

None of it is advice to do work that the law of the place keeps for licensed people.
"""

from dataclasses import dataclass

PRACTICE = "common practice, no source"
MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence for the sheet and where it comes from."""

    text: str
    source: str = PRACTICE


# On every printed page.
IN_SHORT = (
    "Unplug, wait, measure, discharge through a resistor, measure again, prove the meter. "
    "Local rules say who may open a mains machine and who must test it afterwards."
)

WHO_MAY = (
    Said(
        "Mains work is for whom local rules allow it: in many places a licensed or electrically "
        "skilled person. If that is not you, stop here and hand the sheet to them."
    ),
    Said(
        "Machines with a microwave source, a picture tube, a flash or an inverter: leave them to a "
        "qualified person. Their capacitors hold kilovolts, for days when a bleeder has failed.",
        "articles on discharging capacitors; they disagree on values, not on this",
    ),
    Said("Not alone, and somebody near who knows where the power is switched off.", MEMORY),
    Said("Opening it may end a warranty; ask its owner first."),
)

MAKING_SAFE = (
    Said("Plug pulled and in sight, not merely switched off. Batteries out."),
    Said("Wait: bleeders need minutes; hot and moving parts too."),
    Said(
        "Prove the meter on a known source. It must be rated for the voltage and the place "
        "(IEC 61010, category II or III).",
        MEMORY,
    ),
    Said("Measure across every large capacitor, at its own leads."),
    Said("Discharge through a resistor (below), insulated leads, one hand. Never a screwdriver."),
    Said(
        "Measure again, wait a minute, measure once more: a large capacitor recovers some charge "
        "by itself.",
        MEMORY,
    ),
    Said("Prove the meter again on the known source: only now does its zero count.", MEMORY),
)

RESISTOR = (
    Said(
        "Rule: R at least V x V / P, so that the resistor takes no more than its rated power even "
        "at first; then wait 5 x R x C, which leaves less than a hundredth; then measure.",
        "the exponential law; published values disagree, so a rule and no value",
    ),
    Said(
        "The resistor must stand the voltage too: small ones are made for 200 to 350 V; put "
        "several in series where one is not enough.",
        MEMORY,
    ),
)

HAZARDS = (
    Said("Moving and sharp parts: fan blades, belts, sheet metal edges. Gloves off near belts."),
    Said("A vented or leaking capacitor: gloves and glasses; what leaked eats tracks and skin."),
    Said("Solder where the air moves away from your face; wash hands after old solder.", MEMORY),
    Said(
        "Oil-filled motor or lamp capacitors from before about 1980 may hold PCB: hazardous waste, "
        "do not open.",
        MEMORY,
    ),
    Said("Static: strap or touch the chassis before the board (IEC 61340-5-1).", MEMORY),
)

PHOTOGRAPHS = (
    Said("The machine from outside, with its label and serial number"),
    Said("Every layer as it comes off, screws still in"),
    Said("Every connector before it is pulled, and the way the leads run"),
    Said("The board, both sides, straight from above, before any part comes out"),
    Said("Each capacitor's marks and the way its stripe or arrow points"),
    Said("Anything brown, green, swollen or cracked"),
    Said("The board, both sides, with the new parts in"),
)

OPENING = (
    Said(
        "Screws: draw the outline of the case on a card and push each screw through where it came "
        "from. Lengths differ more often than they look."
    ),
    Said(
        "Connectors that look alike: mark both halves of each, by tape or pen, before the first is "
        "pulled. Lead colours are no mark: they repeat."
    ),
    Said("Pull connectors by their body; ribbons only after their bar is lifted at both ends."),
)

TAKING_OUT = (
    Said("One place at a time: out, look, clean, in, tick. Two holes empty are two chances."),
    Said(
        "Order nothing from memory and take nothing out before its part lies here: parts ordered "
        "from what the old one seemed to be are where mistakes come from."
    ),
    Said("Heat both pads and lift; a part that is levered takes the pad with it."),
    Said(
        "Where it leaked (mostly alkaline): white vinegar or citric acid in water on a swab until "
        "it no longer fizzes or feels soapy through the glove, then distilled water, isopropyl, "
        "dry; look at the tracks on both sides under a lens."
    ),
)

WHILE_OPEN = (
    Said("Dust and fluff out of vents, fans and heat sinks."),
    Said("Connectors: no browning, no play; push each home again."),
    Said("Solder joints of heavy and hot parts: rings round the pins are cracks."),
    Said("Belts, seals and hoses: cracks, glaze, hard spots. Bearings: a drop of the right oil."),
    Said("Mains lead, plug and strain relief: no nicks, no play."),
)

BEFORE_POWER = (
    Said("Polarity of every new part against the photograph and the mark in the board."),
    Said("No solder bridge, no bits of wire, no flux that hides either. Lens, good light."),
    Said("No short across any new part: the meter's ohms climb as it charges."),
    Said(
        "Continuity from each new lead to the next part of its track, on both sides of the board: "
        "the plating of a hole comes out with an old lead."
    ),
    Said("Every connector home, every mark beside its like; every ribbon straight and barred."),
    Said("Screws left on the card: none."),
)

FIRST_POWER = (
    Said(
        "Through a current limiter: a lamp of about the machine's power in series, or a supply "
        "with a limit. It lights and then dims; if it stays bright, off, and look for the short. "
        "A heater or motor keeps it bright: leave it unplugged from the board or expect it.",
        MEMORY,
    ),
    Said(
        "A lamp limits current; it isolates nothing. Board and lamp socket are at mains voltage. "
        "A residual-current device does not protect behind an isolating transformer.",
        MEMORY,
    ),
    Said(
        "Covers on or a screen between, glasses on, hands off: a part the wrong way round, or "
        "beyond its voltage, vents hot within seconds.",
        MEMORY,
    ),
    Said("Off at once at smoke, smell, hiss, hum or a warm part; unplug, wait, discharge again."),
    Said(
        "Volts at both ends are read under power, by whoever may, probes clipped on before the "
        "plug goes in. Leave the boxes empty otherwise: they are no duty."
    ),
)

# Before the plug goes in: what the mains parts must pass dead.
SAFETY_BEFORE = (
    Said("Look: mains lead, plug, fuse of the right value, strain relief, covers, no pinched lead"),
    Said("Earth continuity: from the plug's earth pin to every metal part that can be touched"),
    Said(
        "Insulation: live pins joined, to earth and to metal that can be touched, its switch on; "
        "volts and limits as the rules for this class of machine say",
        MEMORY,
    ),
    Said("One that fails is not plugged in: take it out of use and mark it."),
)

AFTERWARDS = (
    Said("Function: a full programme, watched; feel for nothing, look for everything."),
    Said("Leakage currents, where the rules ask for them, by whoever may."),
    Said("Old parts: bag them with unit and place if they are to be measured; else as e-waste."),
    Said("A part that vented is never used again."),
)

# A test by name only: the document itself and the local rules say what is asked.
TESTS_AFTER = (
    Said(
        "EN 50678: test after repair, by an electrically skilled person. Safety worse than before: "
        "stop, take it out of use, mark it.",
        "EN 50678:2020, text of its preview",
    ),
    Said("EN 50699: the recurrent test that follows in use.", "a description of EN 50699"),
    Said(
        "DIN VDE 0701-0702 (since split into the two above): look, protective conductor, "
        "insulation, leakage currents, function, labels, record.",
        "manuals of test instruments",
    ),
    Said("AS/NZS 5762 after repair, AS/NZS 3760 in service.", MEMORY),
    Said(
        "Elsewhere the code of the place: such as the IET code of practice for in-service "
        "inspection (UK), NFPA 70B and 70E (US).",
        MEMORY,
    ),
)

GROUNDED = {
    "negative": "Tied to ground by its negative end, which reads about 0 V.",
    "positive": (
        "Tied to ground by its POSITIVE end, which reads about 0 V; the negative end reads below "
        "it (a negative rail)."
    ),
}
GROUNDED_UNSEEN = (
    "One end is tied to ground, and nobody recorded which; usually the negative, on a negative "
    "rail the positive. See which before the old one comes out."
)
GROUNDED_BY_NOTE = (
    "One end is tied to ground: go by the note on it, and see which before the old one comes out."
)
GROUNDED_DISAGREE = (
    "Recorded as tied to ground by its {end} end; the note can mean otherwise. Trust "
    "neither: see which before the old one comes out."
)
TWO_ENDS = Said(
    "Volts are read from board ground to both ends, with their sign. Tied to ground, the end that "
    "is tied reads about 0 V. Two ends that read the same: the place is not tied to ground, or it "
    "holds no charge. Positive end below the negative: probes swapped, part in backwards, or a "
    "negative rail. Suspect each."
)
ESR_LIMITS = Said(
    "ESR beside Before: twice a fresh part, beyond which an old one is bad. Beside After: half as "
    "much again as the new part's own, for meter and leads; more is a bad joint, part or range.",
    "our own rule of the allowance",
)
NOT_GROUNDED = (
    "NOT tied to ground: both ends carry voltage. Read the orientation off the board before the "
    "old one comes out; never assume it."
)
GROUND_UNKNOWN = (
    "Not known whether it is tied to ground: read the orientation off the board before the old one "
    "comes out; never assume it."
)
FITTED_LATER = (
    "What stands here was fitted later and may be of another form or kind: go by its own marks and "
    "by the board."
)
# Printed so that nobody misses them.
LOUD_ENDS = (
    NOT_GROUNDED,
    GROUND_UNKNOWN,
    GROUNDED["positive"],
    GROUNDED_UNSEEN,
    GROUNDED_BY_NOTE,
    *(GROUNDED_DISAGREE.format(end=end) for end in GROUNDED),
)
HARMFUL_LIVE = (
    "More than ordinary people may touch is possible here: no readings under power but by licensed "
    "people. Prove it discharged before touching."
)
HOLD_FIRST = (
    "STOP where the board first comes into reach, whichever step below that is. Measure before "
    "hand, tool or connector touches it; write what it reads; go on only at about 0 V."
)

SOURCES_OF_RULES = (
    Said(
        "60 V of direct and 30 V of alternating current as the limit of what an ordinary person "
        "may touch: IEC 62368-1",
        MEMORY,
    ),
    Said("R >= V x V / P, and 5 R C to fall below a hundredth", "the exponential law"),
    Said("Which end is which, by form", "makers' drawings, from memory"),
)
