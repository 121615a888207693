"""The contracts: every table that crosses a folder, with columns, types, units and nulls."""

from fleet.frames.check import check_frame, empty_frame
from fleet.frames.kinds import COMMON, KINDS, Column, Kind
from fleet.frames.schemas import clean_schema, known_schema
from fleet.frames.tables import (
    CURVE,
    DUE,
    ESTIMATES,
    FIT,
    LEFT_OUT,
    LIFE,
    LIVES,
    REGION,
    REJECTED,
    WORKING,
)

__all__ = [
    "COMMON",
    "CURVE",
    "DUE",
    "ESTIMATES",
    "FIT",
    "KINDS",
    "LEFT_OUT",
    "LIFE",
    "LIVES",
    "REGION",
    "REJECTED",
    "WORKING",
    "Column",
    "Kind",
    "check_frame",
    "clean_schema",
    "empty_frame",
    "known_schema",
]
