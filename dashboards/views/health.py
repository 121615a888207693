import address
import health_findings
import health_links
import health_reads
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet.flow.caution import CAUTION
from fleet.flow.pooling_words import without_commands

_QUESTIONS = {
    "build_year": "old and young machines",
    "batches": "batches",
    "revisions": "revisions",
    "parts": "original and replaced parts",
    "positions": "positions",
    "mixture": "one shape for all",
}


def main() -> None:
    """What in the data hurts the answers, whom to ask, how complete each source is."""
    place = shared.open_page(
        "Data health",
        "What in the records hurts the answers most, and where to put it right.",
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        # Measuring takes longest and stands first: its place is kept, and filled at the end.
        first = st.container()
        for part in (_sources, _told_twice, _pooling):
            with shared.section():
                part(place)
        with first, shared.sentences():
            answer = health_reads.checked(place.key, place.as_of)
            health_findings.ask_next(answer)
            health_findings.findings(answer.frame)
    if CAUTION in answer.notes:  # somebody is sent to look inside
        shared.caution()
    shared.show_notes(
        tuple(
            words.plain(note)
            for note in answer.notes
            if note != CAUTION and not note.startswith(health_findings.ASK)
        )
    )


def _sources(place: shared.Place) -> None:
    st.header("How complete each source is", anchor=False)
    found = health_reads.sources(place.key, place.as_of)
    if found.frame.is_empty():
        st.markdown("No source is known.")
        return
    st.markdown("\n".join(f"- {words.escaped(note)}." for note in found.notes))
    shares = {
        "seen_within_year": "Seen within a year (%)",
        "with_cause": "Cause told (%)",
        "with_day": "Dated to the day (%)",
        "with_position": "Position named (%)",
        "entered_dated": "Day of entry told (%)",
    }
    table = found.frame.select(
        pl.col("source").fill_null("no source named").alias("Source"),
        pl.col("units").alias("Machines"),
        pl.col("running").alias("Running"),
        pl.col("failures").alias("Failures"),
        *((100 * pl.col(c)).round(0).alias(said) for c, said in shares.items()),
        pl.col("collecting_since").fill_null("not known").alias("Collecting since"),
        pl.when("survivors_reported")
        .then(pl.lit("yes"))
        .otherwise(pl.lit("no"))
        .alias("Tells what works"),
    )
    with st.expander("The same as a table"):
        st.dataframe(
            table,
            hide_index=True,
            placeholder="",
            alt="How complete each source is, the largest first",
            column_config={
                said: st.column_config.NumberColumn(format="%.0f") for said in shares.values()
            },
        )
    take_away.table(table, "sources", what="Sources")


def _told_twice(place: shared.Place) -> None:
    st.header("Told twice", anchor=False)
    pairs = health_reads.table(place.key, place.as_of).twice_told
    if pairs.is_empty():
        st.markdown("No event seems to have been told by two people.")
        return
    once = pairs.filter("counted_once").height
    left = pairs.height - once
    st.markdown(
        f"{words.counted(pairs.height, 'event')} may have been told by two people: {once} counted "
        f"once, {left} counted as two until somebody settles {'it' if left == 1 else 'them'}."
    )
    table = pairs.select(
        pl.col("unit").alias("Machine"),
        pl.when("counted_once").then(pl.lit("once")).otherwise(pl.lit("twice")).alias("Counted"),
        pl.col("what").alias("What"),
        pl.col("days_apart").alias("Days apart"),
        pl.col("why").alias("Why"),
        pl.col("first").alias("First report"),
        pl.col("second").alias("Second report"),
    )
    take_away.rows(
        table.drop("First report", "Second report"),
        hide_index=True,
        placeholder="",
        alt="Events that may have been told twice",
    )
    take_away.table(table, "told-twice", what="Events")
    units = pairs.sort("counted_once")["unit"].unique(maintain_order=True).to_list()
    row = {"about": "told twice", "subject": "", "units": units}
    health_links.draw(row, open_to=health_findings.pages_open(), key="twice")


def _pooling(place: shared.Place) -> None:
    st.header("May lives be taken together?", anchor=False)
    if not st.toggle("Test it; this takes a while", **address.opened("test_pooling")):
        st.caption("Model by model: whether batches, build years, revisions and positions differ.")
        return
    found = health_reads.pooled(place.key, place.as_of)
    if found.frame.is_empty():
        st.markdown("There is no life to pool.")
        return
    said = pl.Series("Why", [without_commands(s) for s in found.frame["sentence"]], pl.String)
    st.markdown("\n".join(f"- {words.escaped(sentence)}" for sentence in said))
    table = found.frame.select(
        pl.col("model").alias("Model"),
        pl.col("question").replace(_QUESTIONS).alias("Question"),
        pl.col("answer").alias("Answer"),
        pl.col("p_value").round_sig_figs(2).alias("Chance of as much"),
        pl.col("lives").alias("Lives"),
        pl.col("failures").alias("Failures"),
        said,
    )
    with st.expander("The same as a table"):
        st.dataframe(table, hide_index=True, placeholder="", alt="What may be taken together")
    take_away.table(table, "pooling", what="Answers")


main()
