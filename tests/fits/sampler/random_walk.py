"""A plain long Monte Carlo run: many independent random-walk Metropolis chains at once.

Metropolis, Rosenbluth, Rosenbluth, Teller and Teller 1953, J. Chem. Phys. 21:1087-1092; steps in
the shape of the covariance found in a warm-up that is thrown away (Haario, Saksman and Tamminen
2001, Bernoulli 7:223-242), three sizes of step mixed so that tails and necks are both reached.
Chains never hear of one another after the warm-up, so that what differs between them tells the
Monte Carlo error.
"""

import numpy as np

SIZES = (0.2, 0.7, 1.6)  # of 2.38 / sqrt(dimensions)


def run(log_target, starts, *, warm_up, kept, thin, seed):
    """Draws (kept, chains, dimensions) and the share of steps that were taken.

    `log_target` maps (chains, dimensions) to (chains,); -inf where nothing may lie. The warm-up
    has four parts of equal length, after each of which the shape of the steps is learned anew.
    """
    rng = np.random.default_rng(seed)
    chains, dimensions = starts.shape
    now, level = starts.copy(), log_target(starts)
    if not np.all(np.isfinite(level)):
        raise ValueError("a chain starts where nothing may lie")
    root = np.diag(starts.std(axis=0) + 1e-3)
    part, learned, draws, taken = warm_up // 4, [], [], 0
    for step in range(warm_up + kept * thin):
        size = rng.choice(SIZES, chains)[:, None] * 2.38 / np.sqrt(dimensions)
        there = now + size * (rng.standard_normal((chains, dimensions)) @ root.T)
        reached = log_target(there)
        moves = np.log(rng.random(chains)) < reached - level
        now, level = np.where(moves[:, None], there, now), np.where(moves, reached, level)
        if step < warm_up:
            learned.append(now)
            if (step + 1) % part == 0:
                seen = np.concatenate(learned[part // 2 :])
                root = np.linalg.cholesky(np.cov(seen.T) + 1e-9 * np.eye(dimensions))
                learned = []
            continue
        taken += moves.sum()
        if (step - warm_up) % thin == thin - 1:
            draws.append(now)
    return np.array(draws), taken / (chains * kept * thin)


SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)


def summed_up(values):
    """Mean, sd and quantiles of (kept, chains) draws, with errors from what differs between chains.

    `error` of a mean: sd of the chains' means over the root of their number; of quantiles: the
    same over eight groups of chains. `effective`: independent draws that would err as little.
    """
    chains = values.shape[1]
    mean_error = values.mean(axis=0).std(ddof=1) / np.sqrt(chains)
    groups = values.reshape(len(values), 8, chains // 8).transpose(1, 0, 2).reshape(8, -1)
    between = np.quantile(groups, SHARES, axis=1).std(axis=1, ddof=1) / np.sqrt(8)
    return {
        "mean": float(values.mean()),
        "sd": float(values.std()),
        "mean_error": float(mean_error),
        "effective": float(round(values.var() / mean_error**2)),
        "quantiles": [float(q) for q in np.quantile(values, SHARES)],
        "quantile_errors": [float(e) for e in between],
    }
