"""The model of the posterior written from its definition, for the sampler alone.

Nothing here is shared with the package: lives are Weibull with one shape a model; the log scale of
a batch is normal around the model's, with the model's spread (and `renewed_sd` besides for parts
fitted later); heat and use shorten lives by a factor. What is blank of a set, temperature or the
log of powered hours, follows a normal law among sets when they were new; a set with blanks counts
its chance from new, averaged over that law, over its chance of coming to be known, averaged
likewise. The law is given, not found. Ages in years.
"""

import math

import numpy as np

PRIOR = {
    "no_wear_out_share": 0.15,
    "no_wear_out_shape": (1.1, 0.25),
    "wear_out_shape": (3.5, 0.35),
    "scale_years": (15.0, 0.5),
    "spread": 0.3,
    "renewed_sd": 0.4,
    "heat": (1.0, 0.4),
    "idle_share": 0.2,
}
STRENGTHS, CALENDARS = (0.05, 2.0), (0.02, 0.98)  # between which heat and use are looked for
MEMORIES = (3.0, 6.0, 12.0, math.inf)  # years, equally likely
NODES = 24  # of the integral over what could have been told
BLANKS = 9  # nodes of each law of what is blank


def log_chance(x):
    """log(1 - exp(-x))."""
    with np.errstate(divide="ignore"):
        return np.where(x > math.log(2.0), np.log1p(-np.exp(-x)), np.log(-np.expm1(-x)))


def hazard(age, shape, log_scale):
    """Cumulative hazard at ages (rows,) for (chains, rows, values) of log scales."""
    with np.errstate(divide="ignore"):
        return np.exp(shape * (np.log(age)[None, :, None] - log_scale))


class Model:
    """Log posterior density of (log shape, log centre, signed spread, batches' steps[, heat, use]).

    `rows`: a mapping of arrays entry, low, high, known_by, count, cell, ambient_c,
    hours_per_year, other_low, other_chance, forgetful; NaN where blank. `renewed`: for each cell
    whether its parts were fitted later. `law`: mean and sd of temperatures and of log hours.
    """

    def __init__(self, rows, renewed, prior, law=None):
        self.rows, self.renewed, self.prior = rows, np.asarray(renewed, float), prior
        warm = rows["ambient_c"][~np.isnan(rows["ambient_c"])]
        used = np.log(rows["hours_per_year"][~np.isnan(rows["hours_per_year"])])
        self.stressed = warm.size > 1 and used.size > 1
        self.usual = (np.median(warm), np.exp(np.median(used))) if self.stressed else (0.0, 1.0)
        self.parts = self._by_blanks(law)
        self.memories = MEMORIES if rows["forgetful"].any() else (math.inf,)

    def _by_blanks(self, law):
        """Rows with the same things blank, with (rows, values) of what may be, and its weights."""
        heat, hours = self.rows["ambient_c"], self.rows["hours_per_year"]
        if not self.stressed:
            one = np.ones((heat.size, 1))
            return [(np.arange(heat.size), 0.0 * one, one, np.ones(1))]
        nodes, weights = np.polynomial.hermite_e.hermegauss(BLANKS)
        weights, parts = weights / weights.sum(), []
        for no_heat in (False, True):
            for no_use in (False, True):
                which = np.flatnonzero((np.isnan(heat) == no_heat) & (np.isnan(hours) == no_use))
                t = np.tile(law[0] + law[1] * nodes, (which.size, 1))
                h = np.tile(np.exp(law[2] + law[3] * nodes), (which.size, 1))
                t, of_t = (t, weights) if no_heat else (heat[which][:, None], np.ones(1))
                h, of_h = (h, weights) if no_use else (hours[which][:, None], np.ones(1))
                pairs = (which.size, of_t.size, of_h.size)
                t = np.broadcast_to(t[:, :, None], pairs).reshape(which.size, -1)
                h = np.broadcast_to(h[:, None, :], pairs).reshape(which.size, -1)
                if which.size:
                    parts.append((which, t, h, np.outer(of_t, of_h).ravel()))
        return parts

    @property
    def dimensions(self):
        return 3 + self.renewed.size + (2 if self.stressed else 0)

    def split(self, theta):
        """Shape and log scales of the cells."""
        centre, spread, steps = theta[:, 1], theta[:, 2], theta[:, 3 : 3 + self.renewed.size]
        sd = np.sqrt(spread[:, None] ** 2 + (self.renewed * self.prior["renewed_sd"]) ** 2)
        return np.exp(theta[:, 0]), centre[:, None] + sd * steps

    def log_target(self, theta):
        """(chains,): log posterior density but for a constant; -inf outside the bounds."""
        inside = np.ones(len(theta), bool)
        if self.stressed:
            heat, use = theta[:, -2], theta[:, -1]
            inside = (heat > STRENGTHS[0]) & (heat < STRENGTHS[1])
            inside &= (use > CALENDARS[0]) & (use < CALENDARS[1])
        out = np.full(len(theta), -np.inf)
        out[inside] = self.log_prior(theta[inside]) + self.log_likelihood(theta[inside])[0]
        return out

    def log_prior(self, theta):
        p, normal = self.prior, lambda x, mean, sd: -0.5 * ((x - mean) / sd) ** 2 - math.log(sd)
        flat = normal(theta[:, 0], math.log(p["no_wear_out_shape"][0]), p["no_wear_out_shape"][1])
        wear = normal(theta[:, 0], math.log(p["wear_out_shape"][0]), p["wear_out_shape"][1])
        share = p["no_wear_out_share"]
        out = np.logaddexp(math.log(share) + flat, math.log(1.0 - share) + wear)
        out += normal(theta[:, 1], math.log(p["scale_years"][0]), p["scale_years"][1])
        out += normal(theta[:, 2], 0.0, p["spread"])  # its absolute value is half-normal
        out -= 0.5 * (theta[:, 3 : 3 + self.renewed.size] ** 2).sum(axis=1)
        if self.stressed:
            out += normal(theta[:, -2], *p["heat"])
        return out

    def log_likelihood(self, theta):
        """(chains,), and the chance that heat and use have no effect, given the rest."""
        shape, scales = self.split(theta)
        if not self.stressed:
            return self._of_rows(shape, scales, None, None), np.zeros(len(theta))
        effect = self._of_rows(shape, scales, theta[:, -2], theta[:, -1])
        none = self._of_rows(shape, scales, None, None)
        idle = self.prior["idle_share"]
        mean, sd = self.prior["heat"]
        to = [0.5 * math.erf((end - mean) / sd / math.sqrt(2.0)) for end in STRENGTHS]
        within = (to[1] - to[0]) * (CALENDARS[1] - CALENDARS[0])
        # heat and use cannot be told without an effect: they are then as before the records
        logs = math.log(1.0 - idle) + effect, math.log(idle / within) + none
        both = np.logaddexp(*logs)
        return both, np.exp(logs[1] - both)

    def _of_rows(self, shape, scales, heat, use):
        out = 0.0
        for which, warm, hours, weights in self.parts:
            factor = np.zeros((1, which.size, 1))
            if heat is not None:
                c = use[:, None, None]
                factor = -heat[:, None, None] * math.log(2.0) * (warm - self.usual[0]) / 10.0
                factor = factor - np.log(c + (1.0 - c) * hours / self.usual[1])
            rows = {name: values[which] for name, values in self.rows.items()}
            weights = weights if heat is not None else np.ones(1)
            out = out + of_part(rows, shape, scales[:, rows["cell"], None] + factor, weights)
        if len(self.memories) == 1:
            return out
        # which memory it is, is one thing for the whole model: averaged over at the end
        logs = out + self._told(shape, scales)
        return np.logaddexp.reduce(logs, axis=0) - math.log(len(self.memories))

    def _told(self, shape, scales):
        """(memories, chains): what was told of forgetful failures, less the chance of being told
        of at all, integrated over shares of the lives that end within the window.
        """
        r = {name: values[self.rows["forgetful"]] for name, values in self.rows.items()}
        k, scale = shape[:, None], scales[:, r["cell"]]
        with np.errstate(divide="ignore"):
            entered = np.exp(k * (np.log(r["entry"]) - scale))
        known = np.exp(k * (np.log(r["known_by"]) - scale))
        nodes, weights = np.polynomial.legendre.leggauss(NODES)
        within = -np.expm1(entered - known)
        share = within[..., None] * (nodes + 1.0) / 2.0
        x = entered[..., None] - np.log1p(-share)
        age = np.exp(np.log(x) / k[..., None] + scale[..., None])
        middle, out = (r["low"] + r["high"]) / 2.0, []
        for memory in self.memories:
            told = np.exp(-(r["known_by"][:, None] - age) / memory)
            logs = np.log((told * weights).sum(axis=2) / 2.0 * within) - entered
            logs = logs + (r["known_by"] - middle) / memory
            out.append(-(r["count"] * logs).sum(axis=1))
        return np.array(out)

    def quantities(self, theta, *, age, years):
        """What is summed up: shape, centre, spread, each cell's scale and chance within years."""
        shape, scales = self.split(theta)
        added = [np.exp(shape[:, None] * (np.log(a) - scales)) for a in (age, age + years)]
        out = {"shape": shape, "centre": np.exp(theta[:, 1]), "spread": np.abs(theta[:, 2])}
        for cell in range(self.renewed.size):
            out[f"scale {cell}"] = np.exp(scales[:, cell])
            out[f"chance {cell}"] = -np.expm1(added[0][:, cell] - added[1][:, cell])
        if self.stressed:
            idle = self.log_likelihood(theta)[1]
            out |= {"heat": (1.0 - idle) * theta[:, -2], "idle": idle}
            out["calendar"] = (1.0 - idle) * theta[:, -1] + idle
        return out


def of_part(rows, shape, log_scale, weights):
    """(chains,): the sum over rows of log chances averaged over what is blank."""
    k = shape[:, None, None]
    ends = -hazard(rows["low"], k, log_scale)
    known = -hazard(np.where(rows["forgetful"], 0.0, rows["entry"]), k, log_scale)
    for kind, is_known, add in kinds(rows):
        there, logs = np.flatnonzero(kind), known if is_known else ends
        if there.size:
            some = {name: values[there] for name, values in rows.items()}
            scale = np.broadcast_to(log_scale, ends.shape)[:, there]
            logs[:, there] = add(some, k, scale, logs[:, there])
    averaged = log_average(ends, weights) - log_average(known, weights)
    return (rows["count"] * averaged).sum(axis=1)


def log_average(logs, weights):
    top = logs.max(axis=2, keepdims=True)
    return np.log((np.exp(logs - top) * weights).sum(axis=2)) + top[..., 0]


def kinds(rows):
    """Which rows are what; whether that bears on their coming to be known; what it adds."""

    def exact(some, k, scale, logs):
        age = np.log(some["low"])[None, :, None]
        return logs + np.log(k) + k * (age - scale) - age

    def between(some, k, scale, logs):
        return logs + log_chance(hazard(some["high"], k, scale) - hazard(some["low"], k, scale))

    def window(some, k, scale, logs):
        return logs + log_chance(hazard(some["known_by"], k, scale) + logs)

    def unsure(some, k, scale, logs):
        other = np.log(some["other_chance"])[None, :, None]
        return np.logaddexp(logs, other - hazard(some["other_low"], k, scale))

    failed, same = ~np.isnan(rows["high"]), rows["low"] == rows["high"]
    return (
        (same, False, exact),
        (failed & ~same, False, between),
        (~np.isnan(rows["known_by"]) & ~rows["forgetful"], True, window),
        (~np.isnan(rows["other_low"]), False, unsure),
    )
