"""How fast the fits are against peers and against the floor: ratios measured in one run.

    python tests/benchmarks/fits.py [--rows 1000000] [--large 10000000]

Prints a table for DEVELOPERS.md. Peers are timed on 200 random groups and multiplied up. The
floor is one pass of log and exp over as many numbers as the likelihood has ages.
"""

import argparse
import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import peers
import polars as pl
from tables import life_table, with_sparse_groups

from fleet.fits import curve, fit_weibull

KEYS = ["model", "batch"]
SAMPLE = 200


def timed(work: Callable[[], object], *, repeat: int = 1) -> tuple[float, float]:
    """Smallest wall and processor seconds of some runs."""
    best = (np.inf, np.inf)
    for _ in range(repeat):
        wall, own = time.perf_counter(), time.process_time()
        work()
        took = (time.perf_counter() - wall, time.process_time() - own)
        best = min(best, took)
    return best


def peak_memory() -> float:
    """Gigabytes this process held at most (Linux; what getrusage says counts the parent too)."""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1e6


def ages(lives: pl.DataFrame) -> int:
    """Ages that enter the likelihood."""
    later = pl.col("high") > pl.col("low")
    counts = lives.select(
        pl.len(), (pl.col("entry") > 0).sum().alias("e"), later.sum(), pl.col("known_by").count()
    )
    return int(sum(counts.row(0)))


def floor(lives: pl.DataFrame) -> float:
    """Seconds of one pass of log and exp over the ages."""
    x = np.random.default_rng(1).uniform(1.0, 9e3, ages(lives))

    def one_pass() -> None:
        for i in range(0, len(x), 8192):
            np.exp(-1e-4 * np.log(x[i : i + 8192]))

    return timed(one_pass, repeat=3)[0]


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser()
    options.add_argument("--rows", type=int, default=1_000_000)
    options.add_argument("--large", type=int, default=10_000_000)
    options.add_argument("--only-fit", type=Path, help="fit this Parquet file and report memory")
    chosen = options.parse_args()
    if chosen.only_fit:
        lives = pl.read_parquet(chosen.only_fit)
        f = floor(lives)
        fit_weibull(lives.head(100))
        wall, own = timed(lambda: fit_weibull(lives, by=KEYS))
        peak = peak_memory()
        print(f"{lives.height} {wall:.3f} {own:.3f} {f:.3f} {peak:.2f}")
        return
    report(chosen.rows, chosen.large)


def report(rows: int, large: int) -> None:
    """The whole table."""
    lives = with_sparse_groups(life_table(rows))
    groups = lives.select(KEYS).n_unique()
    fits = fit_weibull(lives, by=KEYS)
    wall, own = timed(lambda: fit_weibull(lives, by=KEYS), repeat=3)
    base = floor(lives)
    some = peers.sample_groups(lives, SAMPLE)
    lines = [
        f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}, "
        f"numpy {np.__version__}, polars {pl.__version__}",
        "",
        "| what | seconds | ratio |",
        "|---|---|---|",
        f"| {lives.height:,} rows, {groups:,} groups: every Weibull with six limits | {wall:.2f} "
        f"(processor {own:.2f}) | {wall / base:.0f} x the floor of {base:.3f} |",
    ]
    for name, loop, note in (
        ("lifelines", peers.lifelines_loop, "no intervals, no right truncation, no profile limits"),
        ("scipy BFGS", peers.bfgs_loop, "same likelihood, no limits"),
        ("R survreg", peers.survreg_loop, "no entries, no right truncation, no profile limits"),
    ):
        took = loop(some)
        if took is None:
            lines.append(f"| {name} | not on this machine | |")
            continue
        total = took[0] * groups
        failed = f", {took[1]} of {SAMPLE} failed" if took[1] else ""
        lines.append(f"| loop over {name} ({note}{failed}) | {total:.0f} | {total / wall:,.0f} x |")
    km = (
        lives.filter(pl.col("known_by").is_null())
        .with_columns(high=pl.when(pl.col("high").is_not_null()).then(pl.col("low")))
        .filter(pl.col("low") > pl.col("entry"))
    )
    curve_wall, curve_own = timed(lambda: curve(km, by=KEYS), repeat=3)
    peer = peers.kaplan_meier_loop(some[:50]) * groups
    lines.append(
        f"| Kaplan-Meier of all groups | {curve_wall:.2f} (processor {curve_own:.2f}) "
        f"| {peer / curve_wall:,.0f} x faster than a loop over lifelines |"
    )
    one = some[0]
    single, _ = timed(lambda: fit_weibull(one), repeat=50)
    lines.append(f"| one fit of {one.height} rows | {single * 1e3:.2f} ms | |")
    half, _ = timed(lambda: fit_weibull(lives.head(lives.height // 2), by=KEYS), repeat=2)
    lines.append(f"| twice the rows | | {wall / half:.2f} x the time |")
    lines += [large_line(large), "", verdicts(fits)]
    print("\n".join(lines))


def large_line(rows: int) -> str:
    """The large table, in a process of its own so that its memory can be told."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "lives.parquet")
        with_sparse_groups(life_table(rows)).write_parquet(path)
        out = subprocess.run(
            [sys.executable, str(Path(__file__)), "--only-fit", str(path)],
            capture_output=True,
            text=True,
            check=True,
        ).stdout.split()
    count, wall, own, base, peak = int(out[0]), *(float(v) for v in out[1:])
    return (
        f"| {count:,} rows, {peak:.2f} GB at most, the table included | "
        f"{wall:.2f} (processor {own:.2f}) | "
        f"{wall / base:.0f} x the floor of {base:.3f} |"
    )


def verdicts(fits: pl.DataFrame) -> str:
    """How many groups have estimates, and the reasons of the others."""
    words = fits.group_by("reason").len().sort("len", descending=True)
    return "\n".join(
        f"- {n:,} groups: {reason or 'estimate and all six limits'}" for reason, n in words.rows()
    )


if __name__ == "__main__":
    main()
