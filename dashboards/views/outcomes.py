import address
import outcomes_reads
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.flow.outcomes import EARLY_MONTHS, Outcomes

_SHOWN = 1_000  # rows sent to the browser; the download has all
_MOST_DRAWN = 40
_KNOWN_BY = {
    "told": "said with the job",
    "seen_working": "seen working later",
    "failed_early": "failed again before it was seen working",
    "repaired_early": "repaired before it was seen working",
    "failed_later": "failed again only later",
}
_OF_COMMANDS = (
    "say so with fleet amend ID --set cured=yes",
    "correct the report of the job (One machine) to say so",
)
_MEASURED = ("volts_positive", "volts_negative", "esr_ohm", "capacitance")
_AFTER = {
    "passes": "good",
    "fails": "bad",
    "does_not_say": "does not say",
    "none": "not measured",
    "left_in_place": "left in place",
}


def main() -> None:
    """What became of recaps: by model, by job, and readings before and after."""
    place = shared.open_page(
        "How recaps turned out", "Whether they cured, what failed again soon, what was measured."
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        months = st.number_input(
            "Failing again within so many months is early",
            min_value=1,
            max_value=36,
            step=1,
            width=320,
            **address.number("early_months", 1, 36, int(EARLY_MONTHS)),
        )
        found = outcomes_reads.outcomes(place.key, place.as_of, float(months))
        if found.jobs.is_empty():
            st.info(
                "No recap is known yet. Log one (Log a report), and say whether the machine works "
                "now."
            )
            return
        shown = _choose(found.frame)
        _models(found, shown)
        shared.caution()  # before the jobs: one that did not cure is opened again
        _jobs(found.jobs.filter(pl.col("model").is_in(shown["model"].implode())), place)
        _readings(found.positions.filter(pl.col("model").is_in(shown["model"].implode())))
    shared.show_notes(tuple(_said(note) for note in found.notes))


def _said(note: str) -> str:
    told = note.replace(*_OF_COMMANDS)
    return f"{told[:1].upper()}{told[1:]}."


def _choose(frame: pl.DataFrame) -> pl.DataFrame:
    models = frame["model"].sort().to_list()
    wanted = st.multiselect(
        "Model", models, placeholder="all models", **address.several("model", models)
    )
    return frame.filter(pl.col("model").is_in(wanted)) if wanted else frame


def _models(found: Outcomes, shown: pl.DataFrame) -> None:
    said = [
        f"- **{words.escaped(m)}**: {words.escaped(' '.join(found.words[m]))}"
        for m in shown["model"].head(_MOST_DRAWN)
    ]
    st.markdown("\n".join(said))
    if shown.height > _MOST_DRAWN:
        st.caption(f"The first {_MOST_DRAWN} models; the table below has all {shown.height:,}.")
    take_away.drawn(
        charts.draw_success(shown.head(_MOST_DRAWN)),
        "recaps-by-model",
        alt="The chance that the next recap of each model succeeds, with limits; the table below "
        "has the numbers.",
    )
    st.caption(
        "Dots: the chance that the next recap succeeds, the larger the more jobs are behind it. "
        "Lines: 90 % limits. A model with few jobs leans on the others of its kind and on the "
        "whole store."
    )
    take_away.shown(
        shown.select(
            pl.col("model").alias("Model"),
            *(
                (100.0 * pl.col(c)).clip(1.0, 99.0).alias(name)
                for c, name in (
                    ("success", "Next succeeds (in 100)"),
                    ("success_low", "at least"),
                    ("success_high", "at most"),
                )
            ),
            pl.col("cured").alias("Succeeded"),
            pl.col("jobs").alias("Jobs of known outcome"),
            pl.col("not_cured").alias("Did not cure"),
            pl.col("failed_early").alias("Failed again early"),
            pl.col("unknown").alias("Nobody said"),
            pl.col("after_fails").alias("Bad reading after"),
            pl.col("no_after_reading").alias("No reading after"),
            pl.col("swaps").alias("Boards swapped"),
        ),
        "recaps-by-model",
        hide_index=True,
        placeholder="",
        alt="Recaps by model with what became of them",
        column_config={
            "Model": st.column_config.TextColumn(pinned=True),
            **{
                name: st.column_config.NumberColumn(format="%.0f")
                for name in ("Next succeeds (in 100)", "at least", "at most")
            },
        },
    )


def _jobs(jobs: pl.DataFrame, place: shared.Place) -> None:
    st.header("Job by job", anchor=False)
    st.markdown(f"{words.counted(jobs.height, 'recap or swapped board', 'recaps and swaps')}.")
    newest = jobs.sort("on", "unit", descending=[True, False], nulls_last=True)
    st.dataframe(
        newest.head(_SHOWN).select(
            pl.col("unit").alias("Unit"),
            pl.col("cured").alias("Cured"),
            pl.col("on").alias("Done"),
            pl.col("how").replace(words.KINDS).alias("What"),
            pl.when("whole").then(pl.lit("all")).otherwise("positions").alias("Positions"),
            pl.col("because").replace(words.BECAUSE).alias("Why"),
            pl.col("symptom").alias("Symptom"),
            pl.col("known_by").replace(_KNOWN_BY).alias("Known because"),
            pl.when("failed_early").then(pl.lit("yes")).alias("Failed again early"),
            pl.col("again_after").alias("Failed again after (days)"),
            pl.col("after").replace(_AFTER).alias("Reading after"),
            pl.col("model").alias("Model"),
        ),
        hide_index=True,
        placeholder="",
        alt="Recaps and swapped boards, the newest first",
        column_config={
            "Unit": st.column_config.TextColumn(pinned=True),
            "Done": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "Failed again after (days)": st.column_config.NumberColumn(format="%.0f"),
        },
    )
    if jobs.height > _SHOWN:
        st.caption(f"The {_SHOWN:,} newest are shown; the download has all {jobs.height:,}.")
    take_away.table(newest, f"outcomes-{place.as_of.isoformat()}", what="Download the jobs")


def _readings(both: pl.DataFrame) -> None:
    st.header("Readings before and after", anchor=False)
    if both.is_empty():
        st.info("No reading before or after a job yet; they are entered with the job.")
        return
    bad = both.filter(pl.col("verdict_before") == "bad").height
    fails = both.filter(pl.col("after") == "fails").height
    st.markdown(
        f"{words.counted(both.height, 'place')} measured with a job: {bad} read bad before it, "
        f"{fails} after it."
    )
    sides = [
        pl.col(f"{c}_{side}").alias(f"{name} {side}")
        for c, name in (
            ("volts_positive", "V at +"),
            ("volts_negative", "V at -"),
            ("esr_ohm", "ESR (ohm)"),
            ("capacitance", "Capacitance"),
        )
        for side in ("before", "after")
        if both[f"{c}_{side}"].is_not_null().any()
    ]
    asked = both["nominal"].is_not_null().any()
    nominal = [pl.col("nominal").alias("Value of the place")] if asked else []
    take_away.shown(
        both.sort("on", "unit", "position", descending=[True, False, False])
        .head(_SHOWN)
        .select(
            pl.col("unit").alias("Unit"),
            pl.col("on").alias("Done"),
            pl.col("position").alias("Position"),
            *nominal,
            *sides,
            pl.col("verdict_before").fill_null(_unsaid()).alias("Before"),
            pl.col("after").replace(_AFTER).alias("After"),
        ),
        "readings",
        hide_index=True,
        placeholder="",
        alt="Readings before and after each job by position, the newest first",
        column_config={
            "Unit": st.column_config.TextColumn(pinned=True),
            "Done": st.column_config.DateColumn(format="YYYY-MM-DD"),
        },
    )
    st.caption(
        "Judged by the limit written beside the reading, else by the facts of the place: its value "
        "stands beside what was measured, where it is known. Does not say: what was measured "
        "neither clears the part nor speaks against it."
    )


def _unsaid() -> pl.Expr:
    """What stands for no verdict before the job: nothing measured, or nothing told by it."""
    measured = [pl.col(f"{c}_before").is_not_null() for c in _MEASURED]
    words_of = _AFTER["does_not_say"], _AFTER["none"]
    return (
        pl.when(pl.any_horizontal(measured))
        .then(pl.lit(words_of[0]))
        .otherwise(pl.lit(words_of[1]))
    )


main()
