"""The maker is run from the top folder and is no part of the package: put that on the path."""

import sys
from pathlib import Path

import polars as pl
import pytest

ROOT = Path(__file__).resolve().parents[2]
if str(ROOT) not in sys.path:
    sys.path.append(str(ROOT))


@pytest.fixture(scope="session")
def folder() -> Path:
    return ROOT / "demo_data"


@pytest.fixture(scope="session")
def world():
    from demo_data.make import simulate

    return simulate()


@pytest.fixture(scope="session")
def tables(folder):
    return {
        path.stem: pl.read_csv(path, infer_schema=False) for path in sorted(folder.glob("*.csv"))
    }


@pytest.fixture(scope="session")
def current(tables):
    """Units and reports without the rows that a later one supersedes."""
    out = dict(tables)
    for kind in ("units", "reports"):
        frame = tables[kind]
        gone = frame["supersedes"].drop_nulls().implode()
        out[kind] = frame.filter(~pl.col("record").is_in(gone).fill_null(False))
    return out
