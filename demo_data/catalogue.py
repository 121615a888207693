"""Positions, offers, stock and bench of the demo. Every part and supplier is invented."""

from demo_data.scenario import CURRENCY, MODELS

Row = dict[str, str]

_FACTS = (
    "capacitance", "tolerance", "voltage", "temperature", "diameter_mm", "length_mm", "lead_form",
    "lead_spacing_mm", "clearance_mm", "ground_referenced", "technology", "safety_class",
    "ripple_ma", "esr_ohm", "rated_hours", "role",
)  # fmt: skip

# One line a position, in the order of _FACTS.
_POSITIONS = """
DQ31 C1 47uF|20%|400|105|16|25|radial|7.5|2|no|aluminium|| 600|0.90|5000|mains reservoir
DQ31 C2 1000uF|20%|25|105|10|20|radial|5|1|yes|aluminium||1200|0.06|5000|12 V output
DQ31 C5 470uF|20%|16|105|8|15|radial|3.5|1|yes|aluminium||800|0.10|4000|5 V output
DQ31 C6 22uF|20%|50|105|5|11|radial|2|1|yes|aluminium||180|1.10|2000|controller start-up
DQ31 C9 100uF|20%|35|85|6.3|11|radial|2.5|1|yes|aluminium||260|0.45|2000|fan driver
DQ31 C11 10uF|20%|50|85|||radial|2||unknown|aluminium||120|2.20|2000|sensor supply
BZ62 C1 22uF|20%|400|105|12.5|20|radial|5|2|no|aluminium||380|1.80|5000|mains reservoir
BZ62 C3 680uF|20%|16|105|8|20|radial|3.5|1|yes|aluminium||1000|0.08|5000|5 V output
BZ62 C4 220uF|20%|25|105|8|12|radial|3.5|1|yes|aluminium||540|0.17|3000|relay supply
BZ62 C7 47uF|20%|25|85|5|11|radial|2|1|yes|aluminium||200|0.90|2000|controller supply
BZ62 C8 4u7|20%|50|85|5|11|radial|2|1|yes|aluminium||60|4.50|2000|reset delay
WQ18 C1 100uF|20%|400|105|18|31.5|snap-in|10|3|no|aluminium||950|0.60|5000|mains reservoir
WQ18 C2 1000uF|20%|35|105|12.5|30|axial|40|2|yes|aluminium||1500|0.05|5000|24 V output
WQ18 C3 470uF|20%|25|105|10|12.5|radial|5|1|yes|aluminium||860|0.09|4000|12 V output
WQ18 C6 100uF|20%|16|105|5|11|radial|2|1|yes|aluminium||300|0.50|2000|5 V output
WQ18 C7 47uF|20%|50|105|6.3|11|radial|2.5|1|no|aluminium||250|0.70|2000|pump driver, floats
WQ18 C10 10uF|20%|25|85|4|7|smd|1.8|1|yes|aluminium||90|2.60|1000|door lock driver
WQ18 C12 1uF|20%|50|85|4|7|smd|1.8|1|yes|aluminium||30|8.00|1000|level sensor filter
IX07 C1 10uF|20%|400|105|10|16|radial|5|2|no|aluminium||220|3.00|4000|mains reservoir
IX07 C2 470uF|20%|16|105|8|12|radial|3.5|1|yes|aluminium||700|0.11|3000|12 V output
IX07 C3 100uF|20%|16|105|5|11|radial|2|1|yes|aluminium||300|0.50|2000|5 V output
IX07 C4 22uF|20%||85|5|11|radial|2|1|yes|aluminium||130|1.40|2000|turner driver
IX07 C5 1uF|20%|50|85|5|11|radial|2|1|yes|aluminium||30|8.00|1000|sensor filter
"""

# Height above the board under the cover and the tallest neighbour, as somebody measured it.
_HEADROOM = {"DQ31": "38", "BZ62": "27", "WQ18": "36", "IX07": "24"}
_NOTES = {
    ("DQ31", "C11"): "under the sensor bracket; size not measured yet",
    ("WQ18", "C2"): "lies flat, held by a dab of glue; indented end towards the fuse",
    ("WQ18", "C7"): "both ends carry voltage: read the marks before it comes out",
    ("IX07", "C4"): "voltage on the sleeve cannot be read on the boards seen so far",
}
_MAINS = "holds mains voltage after unplugging: prove it discharged first"

# One line an offer, in the order of _OFFERED.
_OFFERED = (
    "part", "capacitance", "voltage", "diameter_mm", "length_mm", "lead_form", "lead_spacing_mm",
    "clearance_mm", "ripple_ma", "esr_ohm", "rated_hours", "temperature", "supplier", "price",
    "price_from_quantity",
)  # fmt: skip
_OFFERS = """
HN-47-400|47uF|450|16|25|radial|7.5|2|650|0.80|8000|105|post|1.90|1
HN-22-400|22uF|450|12.5|20|radial|5|2|400|1.60|8000|105|post|1.20|1
HN-100-400|100uF|400|18|31.5|snap-in|10|3|1000|0.50|5000|105|post|2.80|1
HN-10-400|10uF|450|10|16|radial|5|2|240|2.70|6000|105|post|0.85|1
HN-1000-25|1000uF|25|10|20|radial|5|1|1400|0.04|7000|105|post|0.70|1
HN-1000-25|1000uF|25|10|20|radial|5|1|1400|0.04|7000|105|post|0.52|10
HN-1000-35|1000uF|35|12.5|20|radial|5|1|1700|0.04|7000|105|post|0.95|1
HN-1000-50A|1000uF|50|16|32|axial|42|2|1600|0.05|6000|105|post|2.40|1
HN-680-16|680uF|16|8|20|radial|3.5|1|1200|0.05|6000|105|post|0.60|1
HN-470-16|470uF|16|8|15|radial|3.5|1|860|0.09|5000|105|post|0.38|1
HN-470-16|470uF|16|8|15|radial|3.5|1|860|0.09|5000|105|post|0.29|10
HN-100-35|100uF|35|6.3|11|radial|2.5|1|300|0.40|4000|105|post|0.18|1
HN-47-25|47uF|25|5|11|radial|2|1|220|0.80|4000|105|post|0.14|1
HN-22-50|22uF|50|5|11|radial|2|1|190|1.00|4000|105|post|0.15|1
HN-10-50|10uF|50|5|11|radial|2|1|140|2.00|4000|105|post|0.13|1
HN-4.7-50|4u7|50|5|11|radial|2|1|80|4.00|3000|105|post|0.12|1
HN-1-50|1uF|50|5|11|radial|2|1|35|7.50|3000|105|post|0.12|1
HN-10-25S|10uF|25|4|7|smd|1.8|1|95|2.40|2000|105|post|0.16|1
HN-1-50S|1uF|50|4|7|smd|1.8|1|32|7.50|2000|105|post|0.16|1
WR-470-16|470uF|16|8|15|radial|3.5|1|900|0.10|2000|85|surplus|0.11|5
WR-1000-16|1000uF|16|10|16|radial|5|1|1200|0.06|3000|105|surplus|0.16|5
HN-470-25|470uF|25|10|12.5|radial|5|1|950|0.07|6000|105|surplus|0.40|5
HN-220-25|220uF|25|8|12|radial|3.5|1|640|0.12|5000|105|surplus|0.22|5
HN-100-16|100uF|16|5|11|radial|2|1|330|0.40|4000|105|surplus|0.12|10
HN-47-50|47uF|50|6.3|11|radial|2.5|1|290|0.60|4000|105|surplus|0.14|10
"""

# Supplier: name, shipping, days to the shelf, date code of what it holds.
_SUPPLIERS = {
    "post": ("Ambling parts post", "3.50", "4", "2549"),
    "surplus": ("Netherpond surplus", "6.00", "12", "2431"),
}
_LONG_ON_THE_SHELF = {"WR-1000-16": "1722"}
_SERIES = {"HN": "Heron", "WR": "Wren"}

_PRICES = (
    ("DQ31", "used", "70", "19", "as they turn up on the notice board"),
    ("DQ31", "new", "260", "", "nearest machine still made"),
    ("DQ31", "board", "85", "2", "made again in small numbers"),
    ("DQ31", "scrap", "4", "", ""),
    ("BZ62", "used", "35", "16", "as they turn up on the notice board"),
    ("BZ62", "new", "130", "", "nearest machine still made"),
    ("BZ62", "scrap", "2", "", ""),
    ("WQ18", "used", "110", "15", "as they turn up on the notice board"),
    ("WQ18", "new", "420", "", "nearest machine still made"),
    ("WQ18", "board", "140", "9", "old stock, never powered"),
    ("WQ18", "scrap", "12", "", ""),
    ("IX07", "used", "30", "17", "as they turn up on the notice board"),
    ("IX07", "new", "95", "", "nearest machine still made"),
)

_STOCK = (
    ("HN-22-400", "6", "1938"),
    ("HN-680-16", "9", "2241"),
    ("HN-1000-25", "4", "2241"),
    ("HN-100-16", "20", "1622"),
)


def _spelled(facts: tuple[str, ...], values: list[str]) -> Row:
    return dict(zip(facts, (value.strip() for value in values), strict=True))


def position_rows() -> list[Row]:
    """Every position of every model with what the design asks of its capacitor."""
    rows: list[Row] = []
    for line in _POSITIONS.strip().splitlines():
        model, position, facts = line.split(" ", 2)
        row = {"model": model, "position": position, **_spelled(_FACTS, facts.split("|"))}
        if row["ground_referenced"] == "yes":
            row |= {"grounded_end": "negative"}
        row |= {"current": "dc"}
        row |= {"headroom_mm": _HEADROOM[model], "notes": _NOTES.get((model, position), "")}
        if row["role"] == "mains reservoir":
            row |= {"notes": _MAINS, "polarity_note": "stripe to the board's thick line"}
        rows.append(row)
    return rows


def fresh_values() -> dict[tuple[str, str], tuple[float, str]]:
    """ESR in ohm and capacitance as written, of a fresh part for each (model, position)."""
    return {
        (row["model"], row["position"]): (float(row["esr_ohm"]), row["capacitance"])
        for row in position_rows()
    }


def offer_rows() -> list[Row]:
    """Parts that can be bought."""
    alike = {
        "tolerance": "20%",
        "technology": "aluminium",
        "currency": CURRENCY,
    }
    rows: list[Row] = []
    for line in _OFFERS.strip().splitlines():
        row = _spelled(_OFFERED, line.split("|")) | alike
        supplier, shipping, days, code = _SUPPLIERS[row["supplier"]]
        rows.append(
            row
            | {"series": _SERIES[row["part"][:2]], "supplier": supplier, "shipping": shipping}
            | {"lead_days": days, "date_code": _LONG_ON_THE_SHELF.get(row["part"], code)}
        )
    return rows


def stock_rows() -> list[Row]:
    """Parts on the shelf."""
    return [{"part": p, "quantity": q, "date_code": code} for p, q, code in _STOCK]


def shop_rows() -> list[Row]:
    """What the bench can do: one row."""
    return [
        {
            "labour_rate": "12",
            "bench_hours_per_month": "18",
            "budget": "420",
            "currency": CURRENCY,
            "setup_hours": "0.75",
        }
    ]


def price_rows() -> list[Row]:
    """What could be had instead of a recap; of scrap, what it brings in."""
    return [
        {
            "model": model,
            "item": item,
            "price": price,
            "currency": CURRENCY,
            "parts_age_years": age,
            "priced_on": "2026-05",
            "notes": notes,
        }
        for model, item, price, age, notes in _PRICES
    ]


def model_rows() -> list[Row]:
    """The models with their costs; their true lives are not in the record files."""
    return [
        {
            "model": m.name,
            "kind": m.kind,
            "aliases": ";".join(m.aliases),
            "first_made": str(m.first_made.year),
            "last_made": str(m.last_made.year),
            "planned_cost": str(m.planned_cost),
            "failure_cost": str(m.failure_cost),
            "currency": CURRENCY,
            "bench_hours": str(m.bench_hours),
            "notes": m.notes,
        }
        for m in MODELS
    ]
