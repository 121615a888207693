"""What makers call the end of a capacitor's life: a life in hours means nothing without it.

METHODS: part-life
"""

from dataclasses import dataclass

from fleet.errors import BadInput


@dataclass(frozen=True, slots=True)
class EndOfLife:
    """Limits at which a life ends: shares of the first capacitance lost, times the first loss."""

    name: str
    capacitance_lost: float
    loss_times: float
    source: str

    @property
    def words(self) -> str:
        """The limits in a few words."""
        return (
            f"{self.name}: {100 * self.capacitance_lost:.0f} % of capacitance lost or loss (ESR) "
            f"at {100 * self.loss_times:.0f} % ({self.source})"
        )


ENDURANCE = EndOfLife("endurance", 0.20, 2.0, "the usual endurance table of data sheets")
USEFUL_LIFE = EndOfLife("useful life", 0.30, 3.0, "a looser table, from memory")
CRITERIA = {one.name: one for one in (ENDURANCE, USEFUL_LIFE)}


def criterion_words(name: str | None) -> str:
    """A sentence on which limits a life runs to. Raises BadInput for a name not known."""
    if name is None:
        return (
            "Which limits the rated hours run to decides what they mean; ask the data sheet: "
            f"{ENDURANCE.words}, or {USEFUL_LIFE.words}."
        )
    if name not in CRITERIA:
        raise BadInput(f"the end of life cannot be {name!r}; choose {' or '.join(CRITERIA)}")
    return f"The hours run to {CRITERIA[name].words}."
