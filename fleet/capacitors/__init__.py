"""What is known of capacitors themselves, apart from any one machine."""

from fleet.capacitors.date_codes import Candidate, date_code_candidates, earliest_made
from fleet.capacitors.measured import judge_readings
from fleet.capacitors.part_life import PartLife, Rated, Use, part_life
from fleet.capacitors.ripple_heat import Ripple
from fleet.capacitors.shelf import Shelf, shelf_advice

__all__ = [
    "Candidate",
    "PartLife",
    "Rated",
    "Ripple",
    "Shelf",
    "Use",
    "date_code_candidates",
    "earliest_made",
    "judge_readings",
    "part_life",
    "shelf_advice",
]
