"""Make fleets: record frames that run through the real chain, and the truth behind them.

How the number of failures is held: machines of one fleet come into the records in random order,
and the fleet is cut where the wanted number of failures by the capacitors has been told by the
as-of date. So fleets of 5 failures
are small and fleets of 200 large, as in life, and what the records say is all that an estimator
could condition on: the rule for stopping depends on nothing else. The as-of date is the same for
all. A fleet that would need more than `MOST_UNITS` machines, or has no machine thought to work, is
drawn anew, its class unchanged.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import polars as pl

from fleet.ages import DAYS_PER_YEAR
from fleets.kinds import KINDS, Kind
from fleets.life import Sets
from fleets.measured import write_readings
from fleets.mistaken import contradict
from fleets.renewal import State
from fleets.told import Told
from fleets.unknown import meet
from fleets.watched import watch
from fleets.world import Flags, Machines, Rng, Truth, draw_machines, draw_truth
from fleets.written import Records, name_units, write_reports, write_rest, write_units

AS_OF = date(2026, 1, 1)
HORIZON_YEARS = 2.0
MOST_UNITS = 4000
_PILOT = 1000
_PILOT_FAILURES = 20
_MOST_MACHINES = 500_000
_TRIES = 200


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class Fleet:
    """One fleet: its truth, its records, and the truth of each unit in the records.

    `units`, one row for each unit in the records: fleet, unit, batch (the true one), built,
    works (at as_of, whatever the records say), fails_on (day on which the present set fails),
    p_fail (true chance to fail within two years given that it works at as_of, knowing its batch,
    heat and use, not its fate), start_1, start_2, scale_1, scale_2 (of the two positions), bad
    (share of bad sets in its batch; 0 for renewed sets), partial, thought_to_work (by the records;
    false where they disagree). Days since 1970, and days.
    """

    name: str
    truth: Truth
    records: Records
    units: pl.DataFrame
    tries: int  # how many truths were drawn until one could be a fleet, this one included

    def sets(self, units: pl.DataFrame) -> Sets:
        """Present sets of some rows of `units`."""
        return Sets(
            law=self.truth.law,
            start=units.select("start_1", "start_2").to_numpy(),
            scale=units.select("scale_1", "scale_2").to_numpy(),
            bad=units["bad"].to_numpy(),
        )


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class _Block:
    """Machines drawn together, those that became known, and what was told."""

    machines: Machines
    state: State
    enrolled: np.ndarray
    working: Flags
    events: pl.DataFrame

    def failures(self) -> np.ndarray:
        """Failures by the capacitors told of each machine."""
        told = self.events.filter((pl.col("kind") == "failed") & (pl.col("cause") == "capacitor"))
        return np.bincount(told["machine"].to_numpy(), minlength=len(self.enrolled))


def make_fleets(
    kind: str | Kind, *, fleets: int, failures: int, seed: int = 1, as_of: date = AS_OF
) -> list[Fleet]:
    """Fleets of one class, each with its own generator: the same seed gives the same fleets, and
    the first of many are those of few.
    """
    chosen = KINDS[kind] if isinstance(kind, str) else kind
    seeds = np.random.default_rng(seed).spawn(fleets)
    return [
        make_fleet(rng, chosen, failures=failures, as_of=as_of, name=f"F{number}")
        for number, rng in enumerate(seeds)
    ]


def make_fleet(
    rng: Rng, kind: Kind, *, failures: int, as_of: date = AS_OF, name: str = "F0"
) -> Fleet:
    """One fleet with `failures` failures by the capacitors told by `as_of`."""
    for tries in range(1, _TRIES + 1):
        truth = draw_truth(rng, kind)
        block = _enough(rng, truth, failures=failures, until=_number(as_of))
        if block is not None:
            fleet = _written(rng, truth, block, as_of=as_of, name=name, tries=tries)
            if fleet.units["thought_to_work"].any():
                return fleet
    raise RuntimeError(f"no fleet of this class came to {failures} failures in {_TRIES} tries")


def _simulated(rng: Rng, truth: Truth, machines: int, until: float) -> _Block:
    """Draw machines and all that is told of them by `until`."""
    drawn = draw_machines(rng, truth, machines)
    state, told = State.of(drawn), Told()
    met = meet(rng, truth, drawn, state, told, until=until)
    place = np.flatnonzero(met.working)
    watch(rng, truth, state, place, met.enrolled[place], told, until=until)
    return _Block(
        machines=drawn, state=state, enrolled=met.enrolled, working=met.working,
        events=told.frame(),
    )  # fmt: skip


def _enough(rng: Rng, truth: Truth, *, failures: int, until: float) -> tuple[_Block, int] | None:
    """Machines, and how many of them it takes in random order until enough failures are told;
    None where it takes too many. Other machines, drawn first, tell how many are sure to do.
    """
    size = _PILOT
    while (pilot := _simulated(rng, truth, size, until).failures().sum()) < _PILOT_FAILURES:
        size *= 4
        if size > _MOST_MACHINES:
            return None
    wanted = failures + 8.0 * failures**0.5 + 20.0
    size = int(size / pilot * wanted * 1.5)
    if size > _MOST_MACHINES:
        return None
    block = _simulated(rng, truth, size, until)
    reached = np.cumsum(block.failures())
    if reached[-1] < failures:
        return None
    last = int(np.searchsorted(reached, failures))
    known = int(np.isfinite(block.enrolled[: last + 1]).sum())
    return (block, last + 1) if known <= MOST_UNITS else None


def _written(
    rng: Rng, truth: Truth, found: tuple[_Block, int], *, as_of: date, name: str, tries: int
) -> Fleet:
    block, kept = found
    machine = np.flatnonzero(np.isfinite(block.enrolled[:kept]))
    names = name_units(machine, block.enrolled[machine], block.working[machine], name)
    events = block.events.filter(pl.col("machine") < kept)
    reports = write_reports(rng, truth, events, names, name)
    records = {
        **write_rest(truth, name),
        "units": write_units(rng, truth, block.machines, names, name),
        "reports": reports.filter(pl.col("entered_on") <= as_of),
    }
    units = _unit_truth(truth, block, names, events, as_of=as_of, name=name)
    # What a class does not have draws no number, so that the others stay as they were.
    if truth.kind.readings:
        records["readings"] = write_readings(rng, truth, events, names, name)
    if truth.kind.contradicts:
        records, mistaken = contradict(rng, truth, records, name)
        sound = ~pl.col("unit").is_in(list(mistaken))
        units = units.with_columns(thought_to_work=pl.col("thought_to_work") & sound)
    return Fleet(name=name, truth=truth, records=records, units=units, tries=tries)


def _unit_truth(
    truth: Truth, block: _Block, names: pl.DataFrame, events: pl.DataFrame, *, as_of: date,
    name: str,
) -> pl.DataFrame:  # fmt: skip
    machine, state, now = names["machine"].to_numpy(), block.state, _number(as_of)
    batch = block.machines.batch[machine]
    bad = np.where(state.factory[machine], truth.batch_bad[batch], 0.0)
    sets = Sets(law=truth.law, start=state.start[machine], scale=state.scale[machine], bad=bad)
    fails = state.failing()[machine]
    last = events.sort("machine", "day").group_by("machine").agg(pl.col("kind").last())
    stands = names.join(last, on="machine", how="left", maintain_order="left")
    return pl.DataFrame(
        {
            "fleet": [name] * len(machine),
            "unit": names["unit"],
            "batch": [f"{name}-B{b}" for b in batch],
            "built": block.machines.built[machine],
            "works": fails > now,
            "fails_on": fails,
            "p_fail": sets.chance(now, now + HORIZON_YEARS * DAYS_PER_YEAR),
            "start_1": sets.start[:, 0],
            "start_2": sets.start[:, 1],
            "scale_1": sets.scale[:, 0],
            "scale_2": sets.scale[:, 1],
            "bad": bad,
            "partial": state.partial[machine],
            "thought_to_work": (stands["kind"] != "failed").fill_null(value=True),
        }
    )


def join_records(fleets: Sequence[Fleet]) -> Records:
    """Records of many fleets as one: models of different fleets have nothing in common."""
    kinds = fleets[0].records
    return {kind: pl.concat([fleet.records[kind] for fleet in fleets]) for kind in kinds}


def _number(day: date) -> float:
    return float((day - date(1970, 1, 1)).days)
