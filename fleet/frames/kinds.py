"""The record kinds: what each record file holds, column by column.

One list feeds the reader, the store's tables, the command line's options and the forms, so that
adding a column is one line here and one numbered schema step in the store.
"""

from fleet.frames.column import Column, Kind

# Columns every record file may carry; `source` of the kind sources is its key as well.
COMMON = (
    Column("record", about="the record's id; blank: made from the row's content"),
    Column("entered_on", "date", about="the day it was entered, to the day"),
    Column("supersedes", about="id of the record this one corrects"),
    Column("source", about="who collected it: a name in sources"),
    Column("by", about="who entered it"),
)

_FACTS = (
    Column("capacitance", about="as printed or in any usual spelling: 1000uF, 4u7"),
    Column("tolerance"),
    Column("voltage", "number", unit="V"),
    Column("temperature", "number", unit="°C"),
    Column("diameter_mm", "number", unit="mm"),
    Column("length_mm", "number", unit="mm"),
    Column("lead_form", "choice", choices=("axial", "radial", "snap-in", "smd")),
    Column("lead_spacing_mm", "number", unit="mm"),
    Column("clearance_mm", "number", unit="mm"),
    Column("ground_referenced", "yes_no"),
    Column("polarity_note"),
    Column("technology"),
    Column("safety_class"),
    Column("ripple_ma", "number", unit="mA"),
    Column("esr_ohm", "number", unit="ohm"),
    Column("rated_hours", "number", unit="h"),
)

REPORT_KINDS = (
    "working",
    "failed",
    "recapped",
    "repaired",
    "board_swapped",
    "stored",
    "retired",
    "note",
)
CAUSES = ("capacitor", "other", "unknown")
BECAUSE = ("planned", "failure", "reading")
ITEMS = ("used", "new", "board", "scrap")
MOMENTS = ("opening", "position", "while_open", "closing", "first_power", "symptom")

_ALL = (
    Kind(
        "sources",
        (
            Column("source", required=True),
            Column("collecting_since", "date", about="earlier failures were not collected"),
            Column("data_cutoff", "date", about="nothing later is in the data"),
            Column("keeps_roll_call", "yes_no", about="reports machines that still work too"),
            Column("hemisphere", "choice", choices=("north", "south")),
        ),
        key=("source",),
        about="who collected the records, and since when",
    ),
    Kind(
        "models",
        (
            Column("model", required=True),
            Column("revision"),
            Column("kind", about="kind of appliance"),
            Column("aliases", about="other spellings of the name, joined by ;"),
            Column("first_made", "date"),
            Column("last_made", "date"),
            Column("planned_cost", "number", about="all that a planned recap costs"),
            Column("failure_cost", "number", about="all that a failure costs, its recap included"),
            Column("currency"),
            Column("bench_hours", "number", unit="h"),
            Column("notes"),
        ),
        key=("model", "revision"),
        about="kinds of appliance board",
    ),
    Kind(
        "positions",
        (
            Column("model", required=True),
            Column("position", required=True),
            *_FACTS,
            Column("role"),
            Column("notes"),
            Column(
                "headroom_mm",
                "number",
                unit="mm",
                about="height above the board that the cover and the tallest neighbour allow",
            ),
            Column(
                "grounded_end",
                "choice",
                choices=("negative", "positive"),
                about="which end is tied to ground, where one is; blank: not looked at",
            ),
            Column("current", "choice", choices=("dc", "ac"), about="what the voltage is of"),
        ),
        key=("model", "position"),
        about="places for a capacitor on a model's board",
    ),
    Kind(
        "batches",
        (
            Column("batch", required=True),
            Column("series"),
            Column("date_code"),
            Column("made", "date"),
            Column("technology"),
            Column("sleeve_colour"),
            Column("voltage", "number", unit="V"),
            Column("temperature", "number", unit="°C"),
            Column("rated_hours", "number", unit="h"),
            Column("notes"),
        ),
        key=("batch",),
        about="capacitors made together",
    ),
    Kind(
        "units",
        (
            Column("unit", required=True),
            Column("model", required=True),
            Column("batch", about="of the factory set; C1:B7;C4:B9 where positions differ"),
            Column("serial"),
            Column("manufactured", "date"),
            Column("enrolled_on", "date"),
            Column("enrolled_because", "choice", choices=("working", "failed")),
            Column("site"),
            Column("hours_per_year", "number", unit="h/year"),
            Column("ambient_c", "number", unit="°C", may_be_negative=True),
            Column("notes"),
            Column(
                "private_notes",
                private=True,
                about="the owner's own: never exported, not shown to those who may only read",
            ),
        ),
        key=("unit",),
        about="the machines",
        own_date="enrolled_on",
    ),
    Kind(
        "reports",
        (
            Column("unit", required=True),
            Column("date", "date", required=True),
            Column("kind", "choice", required=True, choices=REPORT_KINDS),
            Column("last_known_working", "date"),
            Column("cause", "choice", choices=CAUSES),
            Column("positions", about="suspected, or replaced: all, or C1;C4"),
            Column("batch", about="of the parts fitted"),
            Column("because", "choice", choices=BECAUSE, about="why it was recapped"),
            Column("symptom"),
            Column("found_dead", "yes_no"),
            Column("notes"),
            Column("cured", "yes_no", about="of a recap or repair: whether it worked afterwards"),
        ),
        key=("unit", "date", "kind"),
        about="what somebody saw on a day",
        own_date="date",
    ),
    Kind(
        "readings",
        (
            Column("unit", required=True),
            Column("date", "date", required=True),
            Column("position", required=True, about="hours: the reading of an hour meter"),
            Column("stage", "choice", choices=("before", "after", "check")),
            Column("volts_positive", "number", unit="V", may_be_negative=True),
            Column("volts_negative", "number", unit="V", may_be_negative=True),
            Column("esr_ohm", "number", unit="ohm"),
            Column("capacitance", about="measured; for position hours: the meter's hours"),
            Column("limit_used"),
            Column("in_circuit", "yes_no"),
            Column("instrument"),
        ),
        key=("unit", "date", "position", "stage"),
        about="what was measured",
        own_date="date",
    ),
    Kind(
        "photos",
        (
            Column("report", required=True, about="id of the report it belongs to"),
            Column("unit", required=True),
            Column("image", required=True, about="SHA-256 of the picture as kept, a JPEG"),
            Column("width", "whole", required=True, unit="px"),
            Column("height", "whole", required=True, unit="px"),
            Column("file_name", about="as given"),
            Column("notes"),
        ),
        key=("report", "image"),
        about="pictures taken of machines; exported only where asked for",
    ),
    Kind(
        "offers",
        (
            Column("part", required=True),
            Column("series"),
            *_FACTS,
            Column("supplier"),
            Column("price", "number"),
            Column("currency"),
            Column("price_from_quantity", "whole"),
            Column("shipping", "number", about="of one order at this supplier, whatever is in it"),
            Column("date_code", about="of the parts the supplier holds, where told"),
            Column("lead_days", "number", unit="days", about="from ordering to the shelf"),
            Column("current", "choice", choices=("dc", "ac"), about="what the voltage is of"),
        ),
        key=("part", "supplier", "price_from_quantity"),
        about="parts that can be bought",
    ),
    Kind(
        "stock",
        (
            Column("part", required=True),
            Column("quantity", "whole", required=True),
            Column("date_code"),
        ),
        key=("part", "date_code"),
        about="parts on the shelf",
    ),
    Kind(
        "shop",
        (
            Column("labour_rate", "number"),
            Column("bench_hours_per_month", "number", unit="h"),
            Column("budget", "number", about="for a month's jobs"),
            Column("currency"),
            Column("setup_hours", "number", unit="h", about="of a month in which a model is done"),
        ),
        key=(),
        about="what the bench can do",
    ),
    Kind(
        "prices",
        (
            Column("model", required=True),
            Column("item", "choice", required=True, choices=ITEMS),
            Column("price", "number", required=True, about="of scrap: what it brings in"),
            Column("currency"),
            Column(
                "parts_age_years", "number", unit="years", about="of its capacitors when bought"
            ),
            Column("priced_on", "date"),
            Column("notes"),
        ),
        key=("model", "item"),
        about="what could be had instead of a recap",
        own_date="priced_on",
    ),
    Kind(
        "steps",
        (
            Column("model", required=True),
            Column("unit", about="blank: every unit of the model"),
            Column("moment", "choice", required=True, choices=MOMENTS),
            Column("position", about="blank: the machine as a whole"),
            Column("place", "whole", about="order among steps of one moment"),
            Column("text", required=True, about="of a symptom: what the machine does"),
            Column("cause", about="of a symptom: what was likely put together wrong"),
        ),
        key=("model", "unit", "moment", "position", "text"),
        about="what to know at the bench, kept from one job to the next",
    ),
    Kind(
        "withdrawn",
        (
            Column("kind", required=True, about="record kind of the row taken back"),
            Column("withdraws", required=True, about="id of the record taken back"),
        ),
        key=("withdraws",),
        about="records taken back by an undo",
    ),
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in _ALL}
