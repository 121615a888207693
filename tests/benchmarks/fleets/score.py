"""Scores of advice on simulated fleets with known truth.

    python tests/benchmarks/fleets/score.py --fleets 100 --failures 10 --kind old

Prints a table of the policies. `--estimator fleet.some.module:function` adds another; it takes
records and the as-of date and gives unit, p_fail, p_fail_low, p_fail_high, optimal_age.
"""

import argparse
import importlib
import sys
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # this folder as `fleets`
sys.path.insert(0, str(Path(__file__).resolve().parents[3]))  # the package

from fleets.kinds import KINDS
from fleets.make import AS_OF, make_fleets
from fleets.make import join_records as join
from fleets.policies import POLICIES, Estimator
from fleets.scores import Score, score, score_units

_HEAD = (
    "policy", "answered", "covered", "too low", "too high", "calibration", "way", "cost ratio",
    "2 % worse", "seconds",
)  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> None:
    """Make the fleets, ask every policy, print the table."""
    asked = _parser().parse_args(arguments)
    policies = dict(POLICIES)
    for name in asked.estimator:
        policies[name] = _named(name)
    began = time.perf_counter()
    fleets = make_fleets(asked.kind, fleets=asked.fleets, failures=asked.failures, seed=asked.seed)
    records = join(fleets)
    units = sum(fleet.units.height for fleet in fleets)
    listed = sum(int(fleet.units["thought_to_work"].sum()) for fleet in fleets)
    print(
        f"{asked.fleets} fleets ({asked.kind}), {asked.failures} failures each, seed {asked.seed}: "
        f"{units} units, {listed} thought to work; made in {time.perf_counter() - began:.1f} s"
    )
    rows = []
    for name, policy in policies.items():
        began = time.perf_counter()
        answers = policy(records, AS_OF)
        took = time.perf_counter() - began
        rows.append(_cells(name, score(score_units(fleets, answers)), took))
    _print(rows)
    print(
        "covered: the 90 % limits hold the true two-year chance; too low, too high: they lie below "
        "or above it.\nway: share of the way from the best possible to running to failure. "
        "cost ratio: to running to failure."
    )


def _named(text: str) -> Estimator:
    module, _, function = text.partition(":")
    found: Estimator = getattr(importlib.import_module(module), function)
    return found


def _cells(name: str, row: Score, seconds: float) -> tuple[str, ...]:
    def share(value: float | None, digits: int = 1) -> str:
        return "-" if value is None else f"{100.0 * value:.{digits}f} %"

    return (
        name,
        share(row.answered, 0),
        share(row.covered),
        share(row.above),
        share(row.below),
        "-" if row.calibration is None else f"{row.calibration:.4f}",
        share(row.way),
        f"{row.cost_ratio:.3f}",
        share(row.worse, 0),
        f"{seconds:.1f}",
    )


def _print(rows: list[tuple[str, ...]]) -> None:
    table = [_HEAD, *rows]
    widths = [max(len(row[column]) for row in table) for column in range(len(_HEAD))]
    for row in table:
        first, *rest = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        print("  ".join([row[0].ljust(len(first)), *rest]))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Score advice on simulated fleets.")
    parser.add_argument("--fleets", type=int, default=100)
    parser.add_argument("--failures", type=int, default=10)
    parser.add_argument("--kind", choices=sorted(KINDS), default="old")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--estimator", action="append", default=[], metavar="MODULE:FUNCTION")
    return parser


if __name__ == "__main__":
    main()
