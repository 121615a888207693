"""How fast the posterior and its forecasts are, against peers in the same run.

    python tests/benchmarks/posterior.py [--models 1000] [--told 50] [--units 1000000]

Invented lives of 20 batches a model, 50 a batch (tables.py): late entries, intervals, sets known
only because they failed; plain, and with half of temperatures and hours told, which costs far more
and is measured on fewer models. Peers are timed on ten models and on rows they can take (lifelines:
no intervals, no right truncation; it fits one Weibull to the whole model). Prints a table for
DEVELOPERS.md.
"""

import argparse
import cProfile
import os
import platform
import pstats
import sys
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl

sys.path[:0] = [str(Path(__file__).resolve().parent), str(Path(__file__).resolve().parents[2])]

from tables import DAYS, life_table  # noqa: E402

from fleet.decisions.drawn_lives import DrawnLives  # noqa: E402
from fleet.decisions.forecast import Units, forecast  # noqa: E402
from fleet.fits import Posterior, weibull_posterior  # noqa: E402
from fleet.frames import EVIDENCE  # noqa: E402

BATCHES, EACH, PEERS = 20, 50, 10
STEPS = (
    "site_law", "plain_terms", "mixed_terms", "powers", "log_failed",
    "add_by_cell", "log_factors", "_kernel", "_cell_weights", "zoom", "draw", "evidence_of",
)  # fmt: skip


def evidence(models: int, *, told: bool) -> pl.DataFrame:
    """Lives of so many models as frames.EVIDENCE, ages in days."""
    lives = life_table(models * BATCHES * EACH, models=models, batches=BATCHES)
    rng = np.random.default_rng(3)
    here = [rng.random(lives.height) < (0.5 if told else 0.0) for _ in range(2)]
    warm = np.where(here[0], rng.uniform(16.0, 38.0, lives.height), np.nan)
    used = np.where(here[1], np.exp(rng.normal(7.5, 0.7, lives.height)), np.nan)
    return (
        lives.with_columns(
            kind=pl.lit(None, pl.String),
            parts=pl.lit("original"),
            ambient_c=pl.Series(warm).fill_nan(None),
            hours_per_year=pl.Series(used).fill_nan(None),
            other_low=pl.lit(None, pl.Float64),
            other_chance=pl.lit(None, pl.Float64),
            forgetful=pl.lit(value=False),
        )
        .select(EVIDENCE.names())
        .cast(EVIDENCE)
    )


def timed(work: Callable[[], object]) -> tuple[float, float, object]:
    """Wall and processor seconds of a run, and what came of it."""
    wall, own = time.perf_counter(), time.process_time()
    found = work()
    return time.perf_counter() - wall, time.process_time() - own, found


def peak_memory() -> float:
    """Gigabytes this process held at most (Linux)."""
    status = Path("/proc/self/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1e6


def lifelines_seconds(lives: pl.DataFrame) -> float:
    """Seconds of one lifelines Weibull fit of a model's rows, the mean over some models."""
    from lifelines import WeibullFitter

    names = lives["model"].unique(maintain_order=True)[:PEERS]
    exact = pl.col("high").is_null() | (pl.col("high") == pl.col("low"))
    took = 0.0
    for name in names:
        rows = lives.filter(
            (pl.col("model") == name) & exact & pl.col("known_by").is_null()
        ).filter(pl.col("low") > pl.col("entry"))
        ages, failed, entry = (
            rows["low"].to_numpy(),
            rows["high"].is_not_null().to_numpy(),
            rows["entry"].to_numpy(),
        )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            start = time.perf_counter()
            WeibullFitter().fit(ages / DAYS, failed, entry=entry / DAYS)
            took += time.perf_counter() - start
    return took / len(names)


def split(lives: pl.DataFrame) -> str:
    """Where the time goes: cumulative seconds of the steps, as shares of the whole."""
    models = lives["model"].unique(maintain_order=True)[:3]  # below the number that is threaded
    some = lives.filter(pl.col("model").is_in(models.to_list()))
    profile = cProfile.Profile()
    profile.runcall(weibull_posterior, some, year=DAYS)
    stats = pstats.Stats(profile)
    whole = stats.total_tt
    found = {
        where[2]: numbers[3]
        for where, numbers in stats.stats.items()
        if where[2] in STEPS and "fleet" in where[0]
    }
    ranked = sorted(found.items(), key=lambda pair: -pair[1])
    einsum = sum(n[3] for where, n in stats.stats.items() if where[2] == "einsum")
    words = [f"{name} {100 * own / whole:.0f} %" for name, own in ranked if own > 0.01 * whole]
    return ", ".join([*words, f"sums over kernels {100 * einsum / whole:.0f} %"])


def units(count: int, cells: int, *, blank: bool) -> Units:
    """Working units spread over the cells; half of their build dates known to the year only."""
    rng = np.random.default_rng(5)
    youngest = rng.uniform(1.0, 30.0, count) * DAYS
    vague = rng.random(count) < 0.5
    nothing = np.full(count, np.nan)
    return Units(
        cell=rng.integers(0, cells, count),
        youngest=youngest,
        oldest=youngest + np.where(vague, DAYS, 0.0),
        silent=rng.uniform(0.0, 900.0, count),
        ambient_c=np.where(rng.random(count) < 0.5, np.nan, 25.0) if blank else nothing,
        hours=np.where(rng.random(count) < 0.5, np.nan, 1500.0) if blank else nothing,
        old_cell=np.full(count, -1),
        old_age=nothing,
        own_unknown=np.zeros(count, bool),
        prompt_share=np.full(count, 0.5),
    )


def report(plain: int, with_heat: int, count: int) -> list[str]:
    """Lines of the table, and of the split."""
    lines, splits = [], []
    for told, models in ((False, plain), (True, with_heat)):
        lives = evidence(models, told=told)
        name = "half of heat and use told" if told else "no heat, no use"
        wall, own, found = timed(lambda lives=lives: weibull_posterior(lives, year=DAYS))
        assert isinstance(found, Posterior)
        each, peer = wall / models, lifelines_seconds(lives)
        lines.append(
            f"| {lives.height:,} rows, {models:,} models x {BATCHES} batches, {name} | {wall:.1f} "
            f"(processor {own:.1f}) | {each / peer:.2f} fits by lifelines of the same rows a model "
            f"({1e3 * each:.1f} ms against {1e3 * peer:.1f} ms) |"
        )
        splits.append(f"- {name}: {split(lives)}")
        drawn = DrawnLives.of(found.cells, found.draws)
        asked = units(count, found.cells.height, blank=told)
        took, own, _ = timed(
            lambda drawn=drawn, asked=asked: forecast(drawn, asked, horizon=2 * DAYS, level=0.9)
        )
        lines.append(
            f"| forecast of {count:,} units, {name} | {took:.1f} (processor {own:.1f}) | "
            f"{1e6 * took / count:.0f} microseconds a unit |"
        )
    lines.append(f"| memory at most | {peak_memory():.2f} GB | |")
    return [*lines, "", "Time of three models by step (steps lie within one another):", *splits]


def main() -> None:
    """Measure and print."""
    options = argparse.ArgumentParser()
    options.add_argument("--models", type=int, default=1000)
    options.add_argument("--told", type=int, default=50)
    options.add_argument("--units", type=int, default=1_000_000)
    chosen = options.parse_args()
    print(
        f"{platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}, "
        f"numpy {np.__version__}, load {os.getloadavg()[0]:.1f}\n\n| what | seconds | ratio |\n"
        "|---|---|---|"
    )
    print("\n".join(report(chosen.models, chosen.told, chosen.units)))


if __name__ == "__main__":
    main()
