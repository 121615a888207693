"""Whether to measure one working machine before deciding on it. METHODS: condition-first."""

from dataclasses import dataclass

from fleet.decisions.ahead import STEP, Ahead, left_to_pay
from fleet.decisions.condition_first import Decision, Reading, worth_of_reading
from fleet.decisions.weibull_life import Floats


@dataclass(frozen=True, eq=False, slots=True, kw_only=True)
class LongRun:
    """Cost by draw of a recap, of a failure, and a month for ever (horizon_cost.Later)."""

    planned: Floats
    failure: Floats
    rate: Floats


def measure_now(
    own: Ahead, run: LongRun, reading: Reading, *, due_in: int | None, opening: float,
    measuring: float,
) -> Decision:  # fmt: skip
    """What a reading is worth now, against the better of a recap now and leaving it.

    Leaving it: it fails within the reading's span, on average when failures of that span come; or
    it lasts, and then is renewed at once, when due (months from now, None: never), or when it
    fails, whichever leaves least to pay. Costs count less `run.rate` for every month gone by.
    """
    span = max(1, round(reading.within / STEP))
    weight, alive, worked = own.weight, own.alive[span], own.worked[span]
    chance = float((weight * (1.0 - alive)).sum())
    planned = float((weight * run.planned).sum())
    lasting = weight * alive
    lasts = [float((lasting * run.planned).sum())]
    for at in {None, due_in if due_in is not None and due_in > span else None}:
        left = left_to_pay(own, at, run.planned, run.failure, run.rate, month=span)
        lasts.append(float((lasting * left).sum()))
    gone = float((lasting * run.rate * span).sum())
    # months worked by those that fail within the span
    failing = worked - alive * span
    fails = float((weight * ((1.0 - alive) * run.failure - run.rate * failing)).sum())
    return worth_of_reading(
        reading,
        chance=chance,
        recap=planned,
        recap_open=planned - min(opening, planned),
        fails=fails / chance if chance > 0.0 else planned,
        lasts=(min(lasts) - gone) / (1.0 - chance) if chance < 1.0 else planned,
        costs=measuring,
    )
