"""Voltages read at both ends of a place, to board ground, and what is odd. METHODS: both-ends.

Common practice, no source; what counts as "about" is our own rule.
"""

NEAR_ZERO = 0.2  # volts; and, of a higher voltage, the share below
SHARE = 0.05
HARMFUL = 60.0  # volts of direct current


def oddity(
    positive: float | None, negative: float | None, ground_referenced: bool | None
) -> str | None:
    """What is suspect about two voltages at one place (volts to board ground); None: nothing seen.

    In a place tied to ground the negative end reads about 0 V. Two ends that read the same: the
    place is not tied to ground, or holds no charge.
    """
    if positive is None or negative is None:
        if ground_referenced and negative is not None and abs(negative) > NEAR_ZERO:
            return f"the negative end reads {negative:g} V, though the place is tied to ground"
        return None
    about = max(NEAR_ZERO, SHARE * max(abs(positive), abs(negative)))
    if abs(positive - negative) <= about:
        what = (
            "it holds no charge though it should"
            if ground_referenced
            else "the place is not tied to ground, or it holds no charge"
        )
        return f"both ends read the same ({positive:g} and {negative:g} V): {what}"
    if positive < negative:
        return (
            f"the ends read the wrong way round ({positive:g} V at the positive, {negative:g} V at "
            "the negative end)"
        )
    if ground_referenced and abs(negative) > about:
        return f"the negative end reads {negative:g} V, though the place is tied to ground"
    return None
