"""Small life tables, and the published data beside the checkout."""

import json
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from fleet.frames import LIFE

SHARED = Path(__file__).parents[2].parent / "shared" / "reference"


def _lives(rows):
    """Life table from (entry, low, high, known_by, count), the last three optional."""
    filled = [(*row, *(None, None, 1.0)[len(row) - 2 :]) for row in rows]
    return pl.DataFrame(filled, schema=LIFE, orient="row")


@pytest.fixture(scope="session")
def make_lives():
    return _lives


@pytest.fixture(scope="session")
def nist_54(make_lives):
    """20 units, 500 h: NIST/SEMATECH e-Handbook of Statistical Methods, section 8.2.2.1."""
    hours = (54.0, 187.0, 216.0, 240.0, 244.0, 335.0, 361.0, 373.0, 375.0, 386.0)
    return make_lives([*((0.0, h, h) for h in hours), (0.0, 500.0, None, None, 10.0)])


class Reference:
    """Published data sets with expected results; groups are selected by the names used there."""

    def __init__(self, folder):
        self.folder = folder
        self.expected = json.loads((folder / "expected.json").read_text())

    def lives(self, name, group="all"):
        table = pl.read_csv(self.folder / self.expected[name]["file"], infer_schema=False)
        table = table.with_columns(pl.col(c).cast(pl.Float64) for c in LIFE)
        if group == "all":
            return table, []
        columns, values = (part.split(":") for part in group.split("="))
        return table.filter(pl.col(c) == v for c, v in zip(columns, values, strict=True)), columns

    def each(self, what):
        for name, entry in self.expected.items():
            for group, found in entry.get("fits", {}).items():
                if found.get(what):
                    yield name, group, found[what]


@pytest.fixture(scope="session")
def reference():
    if not (SHARED / "expected.json").exists():
        pytest.skip("the published data sets are not beside this checkout")
    return Reference(SHARED)


def _random_groups(groups: int, seed: int) -> pl.DataFrame:
    """Lives of `groups` Weibulls of very different kinds, with a column `g`."""
    rng = np.random.default_rng(seed)
    rows = [row for g in range(groups) for row in _group(rng, g)]
    frame = pl.DataFrame(rows, schema={**LIFE, "g": pl.Int64}, orient="row")
    return frame.filter(
        ~((pl.col("low") == pl.col("high")) & (pl.col("low") == pl.col("entry"))).fill_null(False)
    )


def _group(rng, g):
    shape, scale = np.exp(rng.uniform(-1.0, 2.0)), np.exp(rng.uniform(-3.0, 8.0))
    late, interval, known, short = rng.choice([0.0, 0.1, 0.5, 0.9], 4)
    grid = scale / 50.0 if rng.random() < 0.5 else None
    for _ in range(rng.integers(1, 40)):
        entry = scale * rng.uniform(0.0, 1.2) if rng.random() < late else 0.0
        t = scale * ((entry / scale) ** shape + rng.exponential()) ** (1.0 / shape)
        end = entry + scale * rng.uniform(0.0, 1.5) * (1.0 if rng.random() < short else 5.0)
        if grid:
            entry, t, end = (round(v / grid) * grid for v in (entry, t, end))
        count = float(rng.choice([1.0, 1.0, 1.0, 0.5, 3.0]))
        in_window = rng.random() < interval
        if t > entry and rng.random() < known:
            by = t * rng.choice([1.0, 1.0 + 2.0 * rng.random()])
            if in_window:
                yield entry, entry + (t - entry) * rng.random(), t, by, count, g
            else:
                yield entry, t, t, by, count, g
        elif t <= end and in_window:
            low = entry + (t - entry) * rng.choice([0.0, rng.random()])
            yield entry, low, t + 0.3 * scale * rng.random(), None, count, g
        elif t <= end:
            yield entry, t, t, None, count, g
        else:
            yield entry, max(entry, end), None, None, count, g


@pytest.fixture(scope="session")
def random_groups():
    return _random_groups
