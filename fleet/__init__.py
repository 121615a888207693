"""Keep a set of identical, ageing appliances alive: log, learn, and plan recaps.

Importing this package loads nothing heavy; import the folder you need.
"""

__version__ = "0.1.0"
