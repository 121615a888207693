"""Sets of capacitors that are renewed, wholly or in part."""

from dataclasses import dataclass

import numpy as np

from fleets.life import Floats
from fleets.world import Flags, Machines, Rng, Truth, Whole, draw_lives

# From here on `second_lives` of a kind; chances and days are our own choice.
GENERATIONS = 4
RENEWED_UNKNOWN = 0.6  # of machines that failed before anybody knew them
RENEWED_KNOWN = 0.7
PARTLY = 0.25
BENCH_DAYS = (7.0, 60.0)


@dataclass(eq=False, slots=True, kw_only=True)
class State:
    """Present sets of machines, renewed in place. Columns of the first three are positions."""

    start: Floats
    scale: Floats
    fails: Floats
    factor: Floats
    factory: Flags  # all of the present set is the factory's
    partial: Flags

    @classmethod
    def of(cls, machines: Machines) -> "State":
        """The state of machines with their factory sets."""
        count = len(machines.built)
        return cls(
            start=machines.start.copy(),
            scale=machines.scale.copy(),
            fails=machines.fails.copy(),
            factor=machines.factor,
            factory=np.ones(count, bool),
            partial=np.zeros(count, bool),
        )

    def failing(self) -> Floats:
        """Day on which each board fails: its first position to fail."""
        return np.asarray(self.fails.min(axis=1))

    def renew(
        self, rng: Rng, truth: Truth, machine: Whole, day: Floats, *, in_advance: bool = False
    ) -> tuple[Whole, Flags]:
        """Put new parts into machines; position that failed, and whether only that was replaced.

        What is left of a set renewed in part goes on to the failure it was drawn. In advance all
        is renewed.
        """
        place = np.asarray(self.fails[machine].argmin(axis=1), np.int64)
        partly = np.zeros(len(machine), bool) if in_advance else (
            rng.random(len(machine)) < PARTLY
        )  # fmt: skip
        new = day[:, None] + truth.renewed_scale * self.factor[machine, None] * draw_lives(
            rng, truth.law, (len(machine), 2)
        )
        mine = ~partly[:, None] | (np.arange(2) == place[:, None])
        self.start[machine] = np.where(mine, day[:, None], self.start[machine])
        scale = truth.renewed_scale * self.factor[machine, None]
        self.scale[machine] = np.where(mine, scale, self.scale[machine])
        self.fails[machine] = np.where(mine, new, self.fails[machine])
        self.factory[machine] = False
        self.partial[machine] = partly
        return place, partly


def bench(rng: Rng, day: Floats) -> Floats:
    """Day on which a machine that stood still on `day` runs again."""
    return np.asarray(day + rng.uniform(*BENCH_DAYS, len(day)))
