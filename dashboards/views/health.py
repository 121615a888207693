import re
from collections.abc import Mapping
from typing import Any

import access
import address
import health_links
import health_reads
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet.flow.caution import CAUTION
from fleet.flow.check_finding import NEGLIGIBLE
from fleet.flow.table import Answer

_ASK = "Ask next ("
_SHOWN = 20  # findings written out; the rest are in the table
# A command in a sentence: its verb, then options, names and values, up to the next plain word.
_COMMAND = re.compile(
    r"fleet (?:log|amend|add|check|fit|suspects|import|expect)"
    r"(?: working| failed| model| batch| --[a-z-]+(?: [^\s;()]*[^\s;,.()])?|"
    r" [^\s;,.()]*[A-Z0-9=][^\s;,.()]*)*"
)
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
            _ask_next(answer)
            _findings(answer.frame)
    if CAUTION in answer.notes:  # somebody is sent to look inside
        st.warning(words.CAUTION, icon=":material/electrical_services:")
    shared.show_notes(
        tuple(
            words.plain(note)
            for note in answer.notes
            if note != CAUTION and not note.startswith(_ASK)
        )
    )


def _pages() -> frozenset[str]:
    """Pages a finding may link to that the role covers."""
    who = access.person()
    needed = {"views/log.py": "log", "views/bring_in.py": "manage"}
    pages = ("views/log.py", "views/bring_in.py", "views/units.py", "views/suspects.py")
    return frozenset(page for page in pages if who.may(needed.get(page, "read")))  # type: ignore[arg-type]


def _ask_next(answer: Answer) -> None:
    """The one thing to ask for, and of which machines."""
    st.header("Whom to ask next", anchor=False)
    asks = [note for note in answer.notes if note.startswith(_ASK)]
    if not asks:
        st.markdown("Nothing that anybody could be asked for would change an answer.")
        return
    told = asks[0].removeprefix(_ASK)
    row = next(
        r for r in answer.frame.iter_rows(named=True) if told.startswith(f"{r['finding']}): ")
    )
    what = words.escaped(row["finding"][:1].upper() + row["finding"][1:])
    st.markdown(f"**{what}** :blue-badge[{_effect(row)}]")
    st.markdown(f"Ask for it: {_commands(row['advice'])}")
    if row["units"]:
        st.caption("Machines to ask after first, to be pasted into a message:")
        st.code(", ".join(row["units"]), language=None, wrap_lines=True)


def _findings(frame: pl.DataFrame) -> None:
    st.header("What hurts the answers, the worst first", anchor=False)
    if frame.is_empty():
        st.success("Nothing was found that hurts the answers.", icon=":material/check:")
        return
    much = frame.filter(pl.col("blocks") | (pl.col("effect").fill_null(1.0) >= NEGLIGIBLE)).height
    st.markdown(
        f"{words.counted(frame.height, 'finding')}; settling "
        f"{'it' if much == 1 else f'{much} of them'} would change an answer or may do so."
    )
    open_to = _pages()
    for row in frame.head(_SHOWN).iter_rows(named=True):
        with st.container(border=True):
            st.markdown(
                f"**{row['rank']}. {words.escaped(row['subject'])}**: {_commands(row['finding'])} "
                f":blue-badge[{_effect(row)}]"
            )
            advice = row["advice"].removeprefix("hardly changes the answer; ")
            st.markdown(f"What to do: {_commands(advice)}")
            health_links.draw(row["about"], row["units"] or [], open_to=open_to, key=row["rank"])
    table = _table(frame)
    with st.expander(f"All of them as a table ({frame.height})"):
        st.dataframe(table, hide_index=True, placeholder="", alt="Findings, the worst first")
    st.caption(
        "Effect: by how much settling it would move the age by which one in ten of a model has "
        "failed, or narrow its limits, for the model where that is most."
    )
    take_away.table(table, "findings", what="Findings")


def _effect(row: Mapping[str, Any]) -> str:
    if row["blocks"]:
        return "no answer without it"
    if row["effect"] is None:
        return "effect not measured"
    if row["effect"] < NEGLIGIBLE:
        return "hardly changes an answer"
    if row["effect"] >= 1.0:
        return f"changes an answer {1.0 + row['effect']:.1f}-fold"
    return f"changes an answer by up to {100.0 * row['effect']:.1f} %"


def _table(frame: pl.DataFrame) -> pl.DataFrame:
    return frame.select(
        pl.col("rank").alias("Rank"),
        pl.col("subject").alias("What or who"),
        pl.col("finding").alias("Finding"),
        pl.col("count").alias("How many"),
        pl.Series("Effect", [_effect(row) for row in frame.iter_rows(named=True)], pl.String),
        pl.col("advice").alias("What to do"),
    )


def _commands(text: str) -> str:
    """Advice with its commands set as such, the rest without meaning to markdown."""
    out, at = [], 0
    for found in _COMMAND.finditer(text):
        out += [words.escaped(text[at : found.start()]), f"`{found[0]}`"]
        at = found.end()
    return "".join([*out, words.escaped(text[at:])])


def _sources(place: shared.Place) -> None:
    st.header("How complete each source is", anchor=False)
    found = health_reads.sources(place.key, place.as_of)
    if found.frame.is_empty():
        st.markdown("No source is known.")
        return
    st.markdown("\n".join(f"- {note}." for note in found.notes))
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
        pl.col("what").alias("What"),
        pl.col("days_apart").alias("Days apart"),
        pl.when("counted_once").then(pl.lit("once")).otherwise(pl.lit("twice")).alias("Counted"),
        pl.col("why").alias("Why"),
        pl.col("first").alias("First report"),
        pl.col("second").alias("Second report"),
    )
    take_away.rows(
        table, hide_index=True, placeholder="", alt="Events that may have been told twice"
    )
    units = pairs.sort("counted_once")["unit"].unique(maintain_order=True).to_list()
    health_links.draw("told twice", units, open_to=_pages(), key=0)


def _pooling(place: shared.Place) -> None:
    st.header("May lives be taken together?", anchor=False)
    if not st.toggle("Test it; this takes a while", **address.opened("test_pooling")):
        st.caption("Model by model: whether batches, build years, revisions and positions differ.")
        return
    found = health_reads.pooled(place.key, place.as_of)
    if found.frame.is_empty():
        st.markdown("There is no life to pool.")
        return
    lines = found.frame.select("sentence", "answer").iter_rows()
    st.markdown("\n".join(f"- {words.escaped(sentence)}" for sentence, _ in lines))
    table = found.frame.select(
        pl.col("model").alias("Model"),
        pl.col("question").replace(_QUESTIONS).alias("Question"),
        pl.col("answer").alias("Answer"),
        pl.col("p_value").round_sig_figs(2).alias("Chance of as much"),
        pl.col("lives").alias("Lives"),
        pl.col("failures").alias("Failures"),
        pl.col("sentence").alias("Why"),
    )
    with st.expander("The same as a table"):
        st.dataframe(table, hide_index=True, placeholder="", alt="What may be taken together")
    take_away.table(table, "pooling", what="Answers")


main()
