"""What a reader of a life table has to know, in sentences."""

import polars as pl

NO_BUILD = (
    "nothing says after which day it was built, so its age is not known: enter when it was "
    "built, when its parts were made, or when its model was first made"
)
NO_ENROLMENT = "it has no day of enrolment and no report, so nothing is known of its life"


def write_notes(
    lives: pl.DataFrame,
    left_out: pl.DataFrame,
    working: pl.DataFrame,
    units: pl.DataFrame,
    *,
    strangers: int,
    history: int,
    twice: int,
) -> tuple[str, ...]:
    """Sentences with counts; those that count nothing are left away."""
    guessed = units.filter("guessed")["because"].value_counts(sort=True)
    blank = dict(guessed.iter_rows())
    truncated = lives.filter(pl.col("known_by").is_not_null())
    since_unknown = units.filter(
        (pl.col("because") == "failed") & pl.col("collecting_since").is_null()
    ).height
    split = lives.filter((pl.col("count") < 1) & (pl.col("end") == "failed"))
    unseen = lives.filter(pl.col("end") == "lost_sight").height
    zero = lives.filter(pl.col("high").is_null() & (pl.col("low") <= pl.col("entry"))).height
    lines = [
        (blank.get("failed", 0), "{} taken as enrolled because it failed: its first report is a "
         "failure and the reason was blank", "unit was", "units were"),
        (blank.get("working", 0), "{} taken as enrolled working: the reason was blank",
         "unit was", "units were"),
        (truncated.height, "{} known only because the machine failed",
         "life is", "lives are"),
        (since_unknown, "{} enrolled because it failed, with no word on since when failures were "
         "collected: taken as since it was new", "unit was", "units were"),
        (split.height, "{} of unknown cause counted in part as the capacitors'",
         "failure is", "failures are"),
        (unseen, "{} never seen working after coming under observation: no time is credited",
         "life was", "lives were"),
        (zero - unseen, "{} ended on the day of coming under observation: no time is credited",
         "more life", "more lives"),
        (working.filter("failed_once").height, "{} after a failure by the capacitors without a "
         "recap", "unit runs on", "units run on"),
        (history, "{} before the unit was known: history, no life", "set ended", "sets ended"),
        (twice, "{} told by two people on different days, counted once", "event was",
         "events were"),
        (strangers, "{} of units that are not in the units table, and not used",
         "report is", "reports are"),
    ]  # fmt: skip
    notes = [text.format(f"{n:,} {one if n == 1 else many}") for n, text, one, many in lines if n]
    if left_out.height:
        notes += _left_out_notes(left_out)
    return tuple(notes)


def _left_out_notes(left_out: pl.DataFrame) -> list[str]:
    """One sentence for each reason; disagreements, which name records, are counted together."""
    named = pl.col("set_no").is_null() & pl.col("reports").is_not_null()
    disagree = left_out.filter(named)["unit"].n_unique()
    reasons = left_out.filter(~named)["reason"].value_counts().sort("reason")
    notes = [
        f"1 left out: {reason}" if n == 1 else f"{n:,} left out, each because {reason}"
        for reason, n in reasons.iter_rows()
    ]
    if disagree:
        whose = "unit whose" if disagree == 1 else "units whose"
        notes.append(f"{disagree:,} {whose} records disagree left out until they are amended")
    return notes
