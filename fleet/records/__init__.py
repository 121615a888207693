"""Record files in and out: read, clean, resolve names, identify, write."""

from fleet.records.clean import clean, hemispheres_of, raise_entered_on
from fleet.records.dates import parse_edtf
from fleet.records.identity import content_hash, identify
from fleet.records.meta import Meta, meta_table, read_meta
from fleet.records.names import Resolved, bare, batch_names, nearest_names, resolve_names
from fleet.records.open_repair import OpenRepair, is_open_repair, read_open_repair
from fleet.records.raw import Cleaned, RawTable
from fleet.records.read import read_tables
from fleet.records.write import FORMS, write_tables

__all__ = [
    "FORMS",
    "Cleaned",
    "Meta",
    "OpenRepair",
    "RawTable",
    "Resolved",
    "bare",
    "batch_names",
    "clean",
    "content_hash",
    "hemispheres_of",
    "identify",
    "is_open_repair",
    "meta_table",
    "nearest_names",
    "parse_edtf",
    "raise_entered_on",
    "read_meta",
    "read_open_repair",
    "read_tables",
    "resolve_names",
    "write_tables",
]
