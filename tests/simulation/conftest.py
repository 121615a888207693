"""The simulator is run from its own folder and is no part of the package: put that on the path."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2]
for place in (ROOT, ROOT / "tests" / "benchmarks"):
    if str(place) not in sys.path:
        sys.path.append(str(place))

NEVER, ALWAYS = 1e-12, 1e3  # rates a day


@pytest.fixture
def rng():
    return np.random.default_rng(7)


@pytest.fixture
def make_truth():
    """A fleet of which only what the test names can happen."""
    from fleets.kinds import OLD
    from fleets.world import draw_truth

    def make(*, kind=OLD, **values):
        truth = draw_truth(np.random.default_rng(1), kind)
        quiet = {"join": NEVER, "failure_only": 0.0, "other": NEVER, "gap": 100.0}
        return replace(truth, kind=kind, **(quiet | values))

    return make


@pytest.fixture
def make_machines():
    """Machines built on one day whose positions fail on the days given."""
    from fleets.world import Machines

    def make(fails, *, built=10_000.0):
        fails = np.asarray(fails, float)
        if fails.ndim == 1:
            fails = np.stack([fails, fails + 1.0], axis=1)
        count = len(fails)
        return Machines(
            built=np.full(count, built),
            batch=np.zeros(count, np.int64),
            ambient_c=np.full(count, 25.0),
            hours_per_year=np.full(count, 2000.0),
            factor=np.ones(count),
            start=np.full((count, 2), built),
            scale=np.full((count, 2), 5000.0),
            fails=fails,
        )

    return make


@pytest.fixture(scope="session")
def fleets_of():
    """Fleets by class, failures and number, made once."""
    from fleets.make import make_fleets

    made = {}

    def of(kind, failures=10, fleets=5, seed=3):
        key = (kind, failures, fleets, seed)
        if key not in made:
            made[key] = make_fleets(kind, fleets=fleets, failures=failures, seed=seed)
        return made[key]

    return of
