"""Simulated fleets with known truth, and scores of advice on them."""
