"""The contracts: every table that crosses a folder, with columns, types, units and nulls."""

from fleet.frames.check import check_frame, empty_frame
from fleet.frames.column import Column, Kind
from fleet.frames.kinds import COMMON, KINDS
from fleet.frames.schemas import clean_schema, known_schema, private_columns
from fleet.frames.tables import (
    CELLS,
    CURVE,
    DRAWS,
    DUE,
    ESTIMATES,
    EVIDENCE,
    FIT,
    JOBS,
    LEFT_OUT,
    LIFE,
    LIVES,
    REGION,
    REJECTED,
    SUCCESS,
    WORKING,
    F,
)

__all__ = [
    "CELLS",
    "COMMON",
    "CURVE",
    "DRAWS",
    "DUE",
    "ESTIMATES",
    "EVIDENCE",
    "FIT",
    "JOBS",
    "KINDS",
    "LEFT_OUT",
    "LIFE",
    "LIVES",
    "REGION",
    "REJECTED",
    "SUCCESS",
    "WORKING",
    "Column",
    "F",
    "Kind",
    "check_frame",
    "clean_schema",
    "empty_frame",
    "known_schema",
    "private_columns",
]
