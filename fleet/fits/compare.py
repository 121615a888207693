"""Are the lives of several groups alike? METHODS: log-rank, likelihood-ratio."""

from collections.abc import Sequence

import numpy as np
import polars as pl

from fleet.errors import BadInput
from fleet.fits.rows import Floats, check_lives, group_codes
from fleet.fits.support import risk_steps
from fleet.fits.weibull import fit_weibull


def compare(lives: pl.DataFrame, by: Sequence[str]) -> pl.DataFrame:
    """Tests of equal lives over the groups `by`: test, statistic, degrees_of_freedom, p_value.

    "log-rank" compares failures with what the pooled hazard expects (hypergeometric variance,
    risk sets with delayed entry; exact and right-censored lives only, null statistic
    otherwise); "likelihood-ratio" compares Weibull fits of each group with one of all lives,
    null where one of them does not exist. Raises BadFrame, or BadInput without `by`.
    """
    if not by:
        raise BadInput("name the columns whose groups are to be compared")
    check_lives(lives, by)
    results = (("log-rank", *_log_rank(lives, by)), ("likelihood-ratio", *_ratio(lives, by)))
    rows = [(n, s, d, _p_value(s, d)) for n, s, d in results]
    schema = {
        "test": pl.String,
        "statistic": pl.Float64,
        "degrees_of_freedom": pl.Int64,
        "p_value": pl.Float64,
    }
    return pl.DataFrame(rows, schema=schema, orient="row")


def _p_value(statistic: float | None, freedom: int | None) -> float | None:
    from scipy.special import chdtrc

    return None if statistic is None or not freedom else float(chdtrc(freedom, statistic))


def _ratio(lives: pl.DataFrame, by: Sequence[str]) -> tuple[float | None, int | None]:
    groups, pooled = fit_weibull(lives, by=by), fit_weibull(lives)
    if groups.height < 2 or not (groups["exists"].all() and pooled["exists"].all()):
        return None, None
    parts, whole = groups["log_likelihood"].sum(), pooled["log_likelihood"].item()
    return max(2.0 * (parts - whole), 0.0), 2 * (groups.height - 1)


def _log_rank(lives: pl.DataFrame, by: Sequence[str]) -> tuple[float | None, int | None]:
    hard = pl.col("known_by").is_not_null() | (pl.col("high") > pl.col("low"))
    keys, codes = group_codes(lives, by)
    if keys.height < 2 or lives.select(hard.fill_null(value=False).any()).item():
        return None, None
    steps = risk_steps(lives.with_columns(_group=pl.Series(codes, dtype=pl.Int64)))
    ages = np.unique(steps.filter(pl.col("failures") > 0)["age"].to_numpy())
    at_risk = np.zeros((keys.height, len(ages)))
    failures = np.zeros((keys.height, len(ages)))
    for (group,), own in steps.group_by("_group"):
        _fill(int(group), own.sort("age"), ages, at_risk, failures)
    return _mantel(at_risk, failures)


def _fill(group: int, own: pl.DataFrame, ages: Floats, at_risk: Floats, failures: Floats) -> None:
    age, after = own["age"].to_numpy(), np.append(0.0, own["after"].to_numpy())
    at = np.searchsorted(age, ages)
    at_risk[group] = after[at]  # lives left by the last step before each age
    failed = own.filter(pl.col("failures") > 0)
    failures[group, np.searchsorted(ages, failed["age"].to_numpy())] = failed["failures"].to_numpy()


def _mantel(at_risk: Floats, failures: Floats) -> tuple[float | None, int | None]:
    """Mantel (1966), Cancer Chemotherapy Reports 50:163-170, for any number of groups."""
    n, d = at_risk.sum(axis=0), failures.sum(axis=0)
    share = at_risk / n
    surplus = (failures - d * share).sum(axis=1)
    weight = np.where(n > 1.0, d * (n - d) / np.where(n > 1.0, n - 1.0, 1.0), 0.0)
    spread = np.diag((share * weight).sum(axis=1)) - (share * weight) @ share.T
    use = np.diag(spread) > 0.0
    if use.sum() < 2:
        return None, None
    kept = np.flatnonzero(use)[:-1]  # the last follows from the others
    part = surplus[kept]
    return float(part @ np.linalg.solve(spread[np.ix_(kept, kept)], part)), len(kept)
