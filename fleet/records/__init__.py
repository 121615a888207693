"""Record files in and out: read, clean, resolve names, identify, write."""

from fleet.records.clean import clean, hemispheres_of, raise_entered_on
from fleet.records.dates import parse_edtf
from fleet.records.foreign import (
    ForeignTable,
    guess_kind,
    is_ours,
    read_grids,
    rename_columns,
    suggest_columns,
)
from fleet.records.headers import as_record_file, column_names
from fleet.records.identity import content_hash, identify, refused_rows
from fleet.records.meta import Meta, meta_table, read_meta
from fleet.records.names import Resolved, bare, batch_names, nearest_names, resolve_names
from fleet.records.open_repair import OpenRepair, is_open_repair, read_open_repair
from fleet.records.raw import Cleaned, Grid, RawTable
from fleet.records.read import read_tables
from fleet.records.write import FORMS, write_tables

__all__ = [
    "FORMS",
    "Cleaned",
    "ForeignTable",
    "Grid",
    "Meta",
    "OpenRepair",
    "RawTable",
    "Resolved",
    "as_record_file",
    "bare",
    "batch_names",
    "clean",
    "column_names",
    "content_hash",
    "guess_kind",
    "hemispheres_of",
    "identify",
    "is_open_repair",
    "is_ours",
    "meta_table",
    "nearest_names",
    "parse_edtf",
    "raise_entered_on",
    "read_grids",
    "read_meta",
    "read_open_repair",
    "read_tables",
    "refused_rows",
    "rename_columns",
    "resolve_names",
    "suggest_columns",
    "write_tables",
]
