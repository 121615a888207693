"""Voltages read at both ends of a place, to board ground, and what is odd. METHODS: both-ends.

Common practice, no source; what counts as "about" is our own rule.
"""

NEAR_ZERO = 0.2  # volts; and, of a higher voltage, the share below
SHARE = 0.05
HARMFUL = 60.0  # volts of direct current
HARMFUL_AC = 30.0  # of alternating current, effective


def oddity(
    positive: float | None,
    negative: float | None,
    ground_referenced: bool | None,
    grounded_end: str | None = None,
) -> str | None:
    """What is suspect about two voltages at one place (volts to board ground); None: nothing seen.

    In a place tied to ground the `grounded_end` (negative, positive; null: not looked at) reads
    about 0 V. Two ends that read the same: the place is not tied to ground, or holds no charge.
    """
    tied = ground_referenced is True
    if positive is None or negative is None:
        return _one_end(positive, negative, grounded_end) if tied else None
    about = max(NEAR_ZERO, SHARE * max(abs(positive), abs(negative)))
    if abs(positive - negative) <= about:
        what = (
            "it holds no charge though it should"
            if tied
            else "the place is not tied to ground, or it holds no charge"
        )
        return f"both ends read the same ({positive:g} and {negative:g} V): {what}"
    if positive < negative:
        return (
            f"the ends read the wrong way round ({positive:g} V at the positive, {negative:g} V at "
            "the negative end): probes swapped, the part in backwards, or a negative rail"
        )
    if not tied:
        return None
    if grounded_end is None and min(abs(positive), abs(negative)) > about:
        return (
            f"neither end reads about 0 V ({positive:g} and {negative:g} V), though the place is "
            "tied to ground"
        )
    return _one_end(positive, negative, grounded_end, about)


def _one_end(
    positive: float | None, negative: float | None, grounded: str | None, about: float = NEAR_ZERO
) -> str | None:
    """Whether the end that is tied to ground reads far from it."""
    volts = {"positive": positive, "negative": negative}.get(grounded or "")
    if volts is None or abs(volts) <= about:
        return None
    return f"the {grounded} end reads {volts:g} V, though it is tied to ground"
