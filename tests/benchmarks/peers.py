"""The same fits by loops over general libraries, one group after another."""

import contextlib
import shutil
import subprocess
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np
import polars as pl
from scipy import optimize

KEYS = ["model", "batch"]


def sample_groups(lives: pl.DataFrame, many: int, seed: int = 3) -> list[pl.DataFrame]:
    """Random groups with at least three failures."""
    failed = pl.col("high").is_not_null().sum()
    keys = lives.group_by(KEYS).agg(failed.alias("failed")).filter(pl.col("failed") >= 3)
    some = keys.sort(KEYS).sample(many, seed=seed)
    return list(lives.join(some.select(KEYS), on=KEYS).partition_by(KEYS))


def lifelines_loop(groups: list[pl.DataFrame]) -> tuple[float, int]:
    """Processor seconds a group with lifelines' WeibullFitter, rows it can take; and failures.

    Intervals and right truncation are left out: its interval fit takes no entries.
    """
    from lifelines import WeibullFitter

    failed, took = 0, 0.0
    for group in groups:
        plain = group.filter(
            pl.col("known_by").is_null()
            & (pl.col("high").is_null() | (pl.col("high") == pl.col("low")))
        )
        columns = [plain[c].to_numpy() for c in ("low", "entry")]
        event = plain["high"].is_not_null().to_numpy()
        start = time.process_time()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            try:
                WeibullFitter().fit(columns[0], event, entry=columns[1])
            except Exception:
                failed += 1
        took += time.process_time() - start
    return took / len(groups), failed


def bfgs_loop(groups: list[pl.DataFrame]) -> tuple[float, int]:
    """Processor seconds a group with scipy's BFGS on the whole likelihood; and failures.

    Only the maximum, no limits; slopes by the optimiser's own differences.
    """
    failed, took = 0, 0.0
    for group in groups:
        start = time.process_time()
        minus, first = _minus_log_likelihood(group)
        with np.errstate(all="ignore"):
            found = optimize.minimize(minus, first, method="BFGS")
        failed += not (found.success or np.abs(found.jac).max() < 1e-3)
        took += time.process_time() - start
    return took / len(groups), failed


def _minus_log_likelihood(group: pl.DataFrame) -> tuple[Callable, np.ndarray]:
    entry, low, high, known, count = (
        group[c].to_numpy() for c in ("entry", "low", "high", "known_by", "count")
    )
    exact, closed, cut = high == low, high > low, ~np.isnan(known)

    def minus(p: np.ndarray) -> float:
        b, s = np.exp(p)
        at = [(v / s) ** b for v in (entry, low, high, known)]
        value = -(at[1] - at[0])
        value[exact] += np.log(b) - np.log(s) + (b - 1.0) * np.log(low[exact] / s)
        value[closed] += np.log(-np.expm1(at[1][closed] - at[2][closed]))
        value[cut] -= np.log(-np.expm1(at[0][cut] - at[3][cut]))
        return -float((count * value).sum())

    return minus, np.array([np.log(2.0), np.log(np.nanmean(np.fmax(low, high)))])


_R = """
suppressMessages(library(survival))
d <- read.csv("{file}")
groups <- split(d, d$g)
start <- proc.time()
bad <- 0
for (x in groups) {{
  r <- try(survreg(Surv(low, high, type = "interval2") ~ 1, data = x), silent = TRUE)
  if (inherits(r, "try-error")) bad <- bad + 1
}}
took <- proc.time() - start
cat((took[1] + took[2]) / length(groups), bad)
"""


def survreg_loop(groups: list[pl.DataFrame]) -> tuple[float, int] | None:
    """Processor seconds a group with R's survreg, entries and right truncation left out.

    None where R or its survival package is not on the machine.
    """
    if not shutil.which("Rscript"):
        return None
    frame = pl.concat(
        g.filter(pl.col("known_by").is_null()).with_columns(g=pl.lit(i))
        for i, g in enumerate(groups)
    ).filter(pl.col("low") > 0)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "lives.csv")
        frame.select("g", "low", "high").write_csv(path, null_value="NA")
        out = subprocess.run(
            ["Rscript", "-e", _R.format(file=path)], capture_output=True, text=True, check=False
        )
    if out.returncode:
        return None
    seconds, bad = out.stdout.split()
    return float(seconds), int(bad)


def kaplan_meier_loop(groups: list[pl.DataFrame]) -> float:
    """Processor seconds a group with lifelines' KaplanMeierFitter, also where it gives up."""
    from lifelines import KaplanMeierFitter

    took = 0.0
    for group in groups:
        low, entry = group["low"].to_numpy(), group["entry"].to_numpy()
        event = group["high"].is_not_null().to_numpy()
        start = time.process_time()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with contextlib.suppress(Exception):
                KaplanMeierFitter().fit(low, event, entry=entry)
        took += time.process_time() - start
    return took / len(groups)
