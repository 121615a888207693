"""What is known of capacitors themselves, apart from any one machine."""

from fleet.capacitors.date_codes import Candidate, date_code_candidates, earliest_made

__all__ = ["Candidate", "date_code_candidates", "earliest_made"]
