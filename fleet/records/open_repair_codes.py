"""Codes of the Open Repair Data Standard v0.3 (published 7 December 2021, openrepair.org).

The order of the categories is their id, 1 to 40.
"""

CATEGORIES = (
    "Aircon/dehumidifier", "Battery/charger/adapter", "Decorative or safety lights",
    "Desktop computer", "Digital compact camera", "DSLR/video camera", "Fan", "Flat screen",
    "Hair & beauty item", "Handheld entertainment device", "Headphones", "Hi-Fi integrated",
    "Hi-Fi separates", "Kettle", "Lamp", "Laptop", "Large home electrical", "Misc", "Mobile",
    "Musical instrument", "Paper shredder", "PC accessory", "Portable radio", "Power tool",
    "Printer/scanner", "Projector", "Sewing machine", "Small home electrical",
    "Small kitchen item", "Tablet", "Toaster", "Toy", "TV and gaming-related accessories",
    "Vacuum", "Watch/clock", "Coffee maker", "Food processor", "Games console", "Hair dryer",
    "Iron",
)  # fmt: skip

STATUSES = ("Fixed", "Repairable", "End of life", "Unknown")

# The standard's list, and the spellings in its body, its schema and the published files.
BARRIERS = {
    "Spare parts not available": "Spare parts not available",
    "Spare parts too expensive": "Spare parts too expensive",
    "No way to open product": "No way to open product",
    "No way to open the product": "No way to open product",
    "Repair information not available": "Repair information not available",
    "Lack of equipment": "Lack of equipment",
    "Item too worn out": "Item too worn out",
    "Product too worn out": "Item too worn out",
    "Too worn out": "Item too worn out",
}

FIELDS = (
    "id", "data_provider", "country", "partner_product_category", "product_category",
    "product_category_id", "brand", "year_of_manufacture", "product_age", "repair_status",
    "repair_barrier_if_end_of_life", "group_identifier", "event_date", "problem", "record_date",
)  # fmt: skip
NEEDED = ("id", "data_provider", "repair_status", "event_date")
EVIDENCE = (*NEEDED, "country", "problem")

# Household appliances are hardly older; published files hold years down to 1015.
EARLIEST_YEAR = 1900
