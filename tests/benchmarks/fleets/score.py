"""Scores of advice on simulated fleets with known truth.

    python tests/benchmarks/fleets/score.py --fleets 100 --failures 10 --kind old

Prints a table of the policies. Several kinds and numbers of failures make a table each and one
of all fleets together. `--only` keeps the policies named; `--estimator fleet.some.module:function`
adds another, which takes records and the as-of date and gives unit, p_fail, p_fail_low,
p_fail_high, optimal_age.
"""

import argparse
import importlib
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # this folder as `fleets`
sys.path.insert(0, str(Path(__file__).resolve().parents[3]))  # the package

from fleets.kinds import KINDS
from fleets.make import AS_OF, Fleet, join_records, make_fleets
from fleets.policies import POLICIES, Estimator
from fleets.scores import Score, score, score_units

_HEAD = (
    "policy", "answered", "covered", "too low", "too high", "calibration", "way", "cost ratio",
    "2 % worse", "seconds",
)  # fmt: skip


def main(arguments: Sequence[str] | None = None) -> None:
    """Make the fleets of each kind, ask every policy, print a table each and one of all."""
    asked = _parser().parse_args(arguments)
    kept = {name: policy for name, policy in POLICIES.items() if name in asked.only}
    policies = kept | {name: _named(name) for name in asked.estimator}
    done: dict[str, list[pl.DataFrame]] = {name: [] for name in policies}
    took = dict.fromkeys(policies, 0.0)
    cases = [(kind, failures) for kind in asked.kind for failures in asked.failures]
    for kind, failures in cases:
        fleets = _made(kind, failures, asked.fleets, asked.seed)
        records, rows = join_records(fleets), []
        for name, policy in policies.items():
            began = time.perf_counter()
            answers = policy(records, AS_OF)
            seconds = time.perf_counter() - began
            scored = score_units(fleets, answers)
            rows.append(_cells(name, score(scored), seconds))
            took[name] += seconds
            key = pl.format(f"{kind} {failures} {{}}", "fleet")
            done[name].append(scored.with_columns(key.alias("fleet")))
        _print(rows)
    if len(cases) > 1:
        print(f"\nAll {len(cases)} of these together")
        _print([_cells(n, score(pl.concat(done[n])), took[n]) for n in policies])
    print(
        "\n+-: standard error, between fleets. covered: the 90 % limits hold the true two-year "
        "chance; too low, too high: they lie below or above it.\nway: share of the way from the "
        "best possible to running to failure. cost ratio: to running to failure."
    )


def _made(kind: str, failures: int, count: int, seed: int) -> list[Fleet]:
    began = time.perf_counter()
    fleets = make_fleets(kind, fleets=count, failures=failures, seed=seed)
    took = time.perf_counter() - began
    units = sum(fleet.units.height for fleet in fleets)
    listed = sum(int(fleet.units["thought_to_work"].sum()) for fleet in fleets)
    print(
        f"\n{count} fleets ({kind}), {failures} failures each, seed {seed}: {units} units, "
        f"{listed} thought to work; made in {took:.1f} s; "
        f"{sum(fleet.tries for fleet in fleets) - count} truths could be no fleet"
    )
    return fleets


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
        _give(row.covered, row.covered_error),
        share(row.above),
        share(row.below),
        "-" if row.calibration is None else f"{row.calibration:.4f}",
        _give(row.way, row.way_error),
        f"{row.cost_ratio:.3f}",
        share(row.worse, 0),
        f"{seconds:.1f}",
    )


def _give(value: float | None, error: float | None) -> str:
    if value is None:
        return "-"
    return f"{100.0 * value:.1f} +- {100.0 * (error or 0.0):.1f} %"


def _print(rows: list[tuple[str, ...]]) -> None:
    table = [_HEAD, *rows]
    widths = [max(len(row[column]) for row in table) for column in range(len(_HEAD))]
    for row in table:
        first, *rest = (cell.rjust(width) for cell, width in zip(row, widths, strict=True))
        print("  ".join([row[0].ljust(len(first)), *rest]))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="Score advice on simulated fleets.")
    parser.add_argument("--fleets", type=int, default=100)
    parser.add_argument("--failures", type=int, nargs="+", default=[10])
    parser.add_argument("--kind", choices=sorted(KINDS), nargs="+", default=["old"])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", choices=list(POLICIES), nargs="*", default=list(POLICIES))
    parser.add_argument("--estimator", action="append", default=[], metavar="MODULE:FUNCTION")
    return parser


if __name__ == "__main__":
    main()
