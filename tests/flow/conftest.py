"""A store of the demo's invented records, and where the published data lie."""

import os
from datetime import date
from pathlib import Path

import pytest

from fleet.flow.demo import build_demo

CUT = date(2026, 6, 30)


@pytest.fixture(scope="session")
def demo_store(tmp_path_factory):
    store = tmp_path_factory.mktemp("demo") / "demo.duckdb"
    done = build_demo(store)
    assert done.counts["rejected"].sum() == 0
    return store


@pytest.fixture(scope="session")
def shared():
    """The folder of published and real data beside the checkout."""
    beside = Path(__file__).resolve().parents[3] / "shared"
    folder = Path(os.environ.get("FLEET_SHARED", beside))
    if not folder.is_dir():
        pytest.skip("the published data are not beside this checkout (../shared)")
    return folder
