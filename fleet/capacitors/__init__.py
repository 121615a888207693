"""What is known of capacitors themselves, apart from any one machine."""

from fleet.capacitors.date_codes import Candidate, date_code_candidates, earliest_made
from fleet.capacitors.measured import judge_readings

__all__ = ["Candidate", "date_code_candidates", "earliest_made", "judge_readings"]
