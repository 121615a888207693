"""Failures to expect by quarter, beside the true ones of simulated fleets.

    python tests/benchmarks/fleets/counts.py --fleets 100 --failures 10 50 --kind old young

Counted are units that work, are thought to work, and fail by their capacitors in the time.
"""

import argparse
import sys
import time
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import polars as pl

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # this folder as `fleets`
sys.path.insert(0, str(Path(__file__).resolve().parents[3]))  # the package

from fleet.decisions import expected_failures
from fleet.flow.due_by_posterior import working_units
from fleet.flow.posterior import posterior_of, prompt_shares
from fleets.kinds import KINDS
from fleets.make import AS_OF, Fleet, join_records, make_fleets
from fleets.policies import table_of

_EPOCH = date(1970, 1, 1)


def count_ahead(
    kind: str, *, fleets: int, failures: int, seed: int = 1, quarters: int = 8, level: float = 0.90
) -> tuple[pl.DataFrame, pl.DataFrame]:
    """Tables of `fleet.decisions.expected_failures` for each fleet, all quarters together and
    quarter by quarter, with happened (how many failed) and held (within the limits).
    """
    made = make_fleets(kind, fleets=fleets, failures=failures, seed=seed)
    records = join_records(made)
    table = table_of(records, AS_OF)
    found = posterior_of(table, records, as_of=AS_OF)
    shares = prompt_shares(table.lives.filter(pl.col("parts") != "partial"))
    said = expected_failures(
        working_units(table, records), found.cells, found.draws, shares,
        as_of=AS_OF, quarters=quarters, level=level,
    )  # fmt: skip
    failing = _failing(made, table.working)
    return _beside(said.models.drop_nulls("model"), failing), _beside(said.each, failing)


def _failing(fleets: Sequence[Fleet], working: pl.DataFrame) -> pl.DataFrame:
    """model, fails_on of the units that are counted and work in truth."""
    units = pl.concat([fleet.units for fleet in fleets]).filter("works")
    listed = units.join(working.select("unit"), on="unit", how="semi")
    return listed.select("fails_on", model="fleet")


def _beside(said: pl.DataFrame, failing: pl.DataFrame) -> pl.DataFrame:
    rows = said.with_row_index("row")
    since, until = (
        (pl.col(c) - _EPOCH).dt.total_days().cast(pl.Float64)
        for c in ("quarter_from", "quarter_to")
    )
    # A day of truth is a moment within it; the day before quarter_from is where counting begins.
    within = (pl.col("fails_on") > since - 1.0) & (pl.col("fails_on") <= until)
    happened = rows.join(failing, on="model", how="left").group_by("row").agg(
        happened=within.sum().cast(pl.Int64)
    )  # fmt: skip
    joined = rows.join(happened, on="row", how="left").drop("row")
    return joined.with_columns(held=pl.col("happened").is_between("low", "high"))


def main(arguments: Sequence[str] | None = None) -> None:
    """Print how often the limits held the number that failed."""
    parser = argparse.ArgumentParser(description="Failures to expect beside those that came.")
    parser.add_argument("--fleets", type=int, default=100)
    parser.add_argument("--failures", type=int, nargs="+", default=[10, 50])
    parser.add_argument("--kind", choices=sorted(KINDS), nargs="+", default=["old", "young"])
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args(arguments)
    for kind in asked.kind:
        for failures in asked.failures:
            began = time.perf_counter()
            found = count_ahead(kind, fleets=asked.fleets, failures=failures, seed=asked.seed)
            for name, rows in zip(("two years", "one quarter"), found, strict=True):
                below, above = (rows["happened"] < rows["low"]), (rows["happened"] > rows["high"])
                wide = (rows["high"] - rows["low"]).mean()
                print(
                    f"{kind} {failures} failures, {name}: {rows.height} counts, held "
                    f"{rows['held'].mean():.3f} (fewer {below.mean():.3f}, more "
                    f"{above.mean():.3f}), expected {rows['expected'].sum():.0f}, happened "
                    f"{rows['happened'].sum()}, limits {wide:.1f} wide"
                )
            print(f"  in {time.perf_counter() - began:.0f} s, the fleets included")


if __name__ == "__main__":
    main()
