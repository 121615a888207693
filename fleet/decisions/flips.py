"""At which price or chance another option becomes the cheapest. METHODS: flips."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from fleet.decisions.keep_or_replace import Prices

Cost = Callable[[Prices, str], float | None]

_PRICES = ("planned", "failure", "used", "new", "board")
_CHANCES = ("success", "beyond_repair")
_FARTHEST = 5.0  # times a price, beyond which nothing is looked for
_OF = {
    "planned": {"recap_now", "recap_when_due", "used_recapped"},
    "used": {"used", "used_recapped"},
    "new": {"new"},
    "board": {"board"},
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Flip:
    """`best` gives way to `other` when `what` passes `at`; `now` is what it is taken to be."""

    what: str
    now: float
    at: float
    best: str
    other: str


def flips(cost: Cost, prices: Prices, *, best: str, others: tuple[str, ...]) -> list[Flip]:
    """Each price and chance at which `best` and the runner-up (first of `others`) cost the same,
    and each price at which one of the others that has a price of its own would be as cheap.

    `cost`: what an option costs under other prices.
    """
    found: list[Flip] = []
    if not others:
        return found
    runner = others[0]
    for what in (*_PRICES, *_CHANCES):
        at = _root(cost, prices, what, best, runner)
        if at is not None:
            found.append(_flip(prices, what, at, best, runner))
    for other in others[1:]:
        own = next((p for p in ("used", "new", "board") if other in _OF[p]), None)
        if own and not any(f.what == own for f in found):
            at = _root(cost, prices, own, best, other)
            if at is not None:
                found.append(_flip(prices, own, at, best, other))
    return found


def _flip(prices: Prices, what: str, at: float, best: str, other: str) -> Flip:
    return Flip(what=what, now=float(getattr(prices, what)), at=at, best=best, other=other)


def _root(cost: Cost, prices: Prices, what: str, best: str, other: str) -> float | None:
    """The value nearest to the present one at which two options cost the same; None for none."""
    from scipy.optimize import brentq

    now = getattr(prices, what)
    if now is None:
        return None

    def gap(value: float) -> float:
        changed = replace(prices, **{what: value})
        one, two = cost(changed, best), cost(changed, other)
        return float("nan") if one is None or two is None else two - one

    ends = (0.01, 0.9999) if what in _CHANCES else (1e-6, max(_FARTHEST * now, 1.0))
    here = gap(now)
    roots = []
    for end in ends:
        if here > 0.0 > gap(end):
            roots.append(float(brentq(gap, *sorted((now, end)), xtol=1e-6 * max(now, 1.0))))
    return min(roots, key=lambda at: abs(at - now), default=None)
