"""Remakes quantiles.json, the long Monte Carlo run of every set, in some minutes:
python tests/fits/sampler/remake.py
"""

import json
import sys
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parents[2])]

import random_walk  # noqa: E402
import sets  # noqa: E402

CHAINS, SEED = 64, 5
LENGTHS = {  # steps of the warm-up, draws kept of each chain, steps between them
    "one batch": (4000, 2000, 10),
    "four batches": (4000, 2000, 10),
    "heat and use": (2000, 1200, 3),
    "no failure": (4000, 2000, 10),
    "forgetting": (2000, 1500, 4),
}
AGE, YEARS = 10.0, 2.0


def starts(model, seed):
    """Scattered around the prior's middle, inside the bounds of heat and use."""
    rng = np.random.default_rng(seed)
    middle = np.zeros(model.dimensions)
    middle[:3] = np.log(3.0), np.log(15.0), 0.2
    out = middle + 0.2 * rng.standard_normal((CHAINS, model.dimensions))
    if model.stressed:
        out[:, -2:] = rng.uniform((0.3, 0.2), (1.7, 0.8), (CHAINS, 2))
    return out


def long_run(name):
    """What the run found of one set."""
    model = sets.model(name)
    warm_up, kept, thin = LENGTHS[name]
    draws, taken = random_walk.run(
        model.log_target, starts(model, SEED), warm_up=warm_up, kept=kept, thin=thin, seed=SEED
    )
    each = [model.quantities(theta, age=AGE, years=YEARS) for theta in draws]
    return {
        "taken": round(taken, 3),
        "cells": sets.cells(name),
        "found": {
            what: random_walk.summed_up(np.array([one[what] for one in each])) for what in each[0]
        },
    }


def rounded(value):
    """Six significant digits, so that the file shows what changed."""
    if isinstance(value, dict):
        return {name: rounded(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [rounded(inner) for inner in value]
    return float(f"{value:.6g}") if isinstance(value, float) else value


def main():
    """Run every set and write the file."""
    run = {"chains": CHAINS, "lengths": LENGTHS, "age": AGE, "years": YEARS}
    found = {name: long_run(name) for name in sets.names()}
    text = json.dumps(rounded({"run": run, "sets": found}), indent=1)
    (HERE / "quantiles.json").write_text(text + "\n")


if __name__ == "__main__":
    main()
