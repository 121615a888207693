from collections.abc import Sequence

import address
import polars as pl
import reads
import shared
import streamlit as st
import suspects_reads
import take_away
import words

from fleet import charts
from fleet.flow.caution import CAUTION
from fleet.flow.read_aloud import chance_words
from fleet.flow.suspects import Suspects
from fleet.flow.suspects_plain import PlainAnswer
from fleet.flow.table import Settings

_LEVEL = 0.90
# How the answer looks: by what was found, not by its colour alone.
_BOXES = {
    "batch": (st.info, ":material/target:"),
    "design": (st.info, ":material/schedule:"),
    "open": (st.info, ":material/help:"),
}
_BY_EYE = 40  # batches drawn
_PARTS = {"original": "original parts", "replaced": "replaced parts"}
_LIES = {
    "model": "between models",
    "batch": "between batches",
    "chance": "within a batch",
    "position": "between positions (of single capacitors)",
}
_NUMBERS = {
    name: st.column_config.NumberColumn(format="%.1f") for name in ("Lives", "Failures", "Expected")
}


def main() -> None:
    """Whether batches or the design end the machines: verdicts, batches, models, shares."""
    place = shared.open_page(
        "Batch or design?", "Which batch of capacitors lives shorter than its like, if any does."
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        settings = _choose()
        found = suspects_reads.suspects(place.key, place.as_of, _LEVEL, settings)
        if found.frame.is_empty():
            st.info(
                " ".join(found.words)
                or "There are no lives to compare yet: report failures and machines that work."
            )
            return
        parts = _parts(found.frame)
        _answer(found.plain(parts))
        if CAUTION in found.notes:  # somebody is sent to measure
            shared.caution()
        _batches(found.of(parts).filter(level="batch"), found.suspects_for(parts))
        _models(found, parts)
        _others(found.frame.filter(pl.col("parts").is_null() | (pl.col("parts") == parts)))
    shared.show_notes(tuple(words.plain(note) for note in found.notes if note != CAUTION))


def _choose() -> Settings:
    with st.expander("How reports are read", icon=":material/tune:", key="fold_suspects_asked"):
        cause = st.selectbox(
            "Failures of unknown cause",
            list(words.UNKNOWN_CAUSE),
            format_func=lambda v: words.UNKNOWN_CAUSE[v],
            **address.choice("unknown_cause", list(words.UNKNOWN_CAUSE), "share"),
        )
    return Settings(unknown_cause=cause)


def _parts(frame: pl.DataFrame) -> str:
    held = [p for p in _PARTS if p in set(frame["parts"].drop_nulls())]
    if len(held) < 2:
        return held[0] if held else "original"
    chosen = st.selectbox(
        "Sets of",
        held,
        format_func=lambda v: _PARTS[v],
        **address.choice("parts", held, "original"),
    )
    return str(chosen or held[0])


def _answer(plain: PlainAnswer) -> None:
    """The answer in a box, then what it means for each model."""
    say, icon = _BOXES[plain.found]
    say(f"**{words.escaped(plain.headline)}** {words.escaped(plain.because)}", icon=icon)
    st.markdown(
        "\n".join(
            f"- **{words.escaped(names)}**: {words.escaped(text)}" for names, text in plain.meaning
        )
    )


def _batches(rows: pl.DataFrame, said: Sequence[str]) -> None:
    st.header("Batches", anchor=False)
    st.markdown("\n".join(f"- {_sentence(line)}" for line in said))
    if rows.is_empty():
        st.info(
            "No batch is named in these lives; say on the page One machine which batch each has."
        )
        return
    drawn = rows.filter(pl.col("failures") > 0.0).head(_BY_EYE)
    if not drawn.is_empty():
        take_away.drawn(
            charts.draw_suspects(drawn),
            "batches",
            alt="How many times as long each batch lasts as a typical batch of its model, with "
            "limits; the table below has the numbers.",
        )
        st.caption(
            "Lines are 90 % limits. Batches with few failures are drawn towards what is typical "
            "of their model, so that one early failure does not make a suspect. Batches without "
            "a failure are in the table only."
        )
    take_away.shown(
        rows.select(
            pl.col("name").alias("Batch"),
            pl.col("verdict").alias("Verdict"),
            pl.col("model").alias("Model"),
            _limits().alias("Times as long"),
            pl.col("failures").alias("Failures"),
            pl.col("expected").alias("Expected"),
            pl.col("lives").alias("Lives"),
            _chance("p_adjusted").alias("By luck alone"),
        ),
        "batches",
        hide_index=True,
        placeholder="",
        alt="Batches, the most suspect first",
        column_config={"Batch": st.column_config.TextColumn(pinned=True), **_NUMBERS},
    )
    st.caption(
        "Times as long: as a typical batch of its model, in brackets the 90 % limits. Expected: "
        "failures, did the batch live like the others of its model. By luck alone: how often one "
        "of all batches looked at would depart so far if all lived alike."
    )
    with st.expander("Each batch in a sentence"):
        st.markdown(_list(rows.with_columns(name=_full_name()), "name"))


def _models(found: Suspects, parts: str) -> None:
    st.header("Models", anchor=False)
    rows = found.of(parts).filter(level="model")
    st.markdown(_list(rows, "name"))
    st.caption(
        "Shape: how far failures keep to one age, within a batch. At 1 age does not matter; at 3 "
        "or more most come within some years of each other. In brackets the 90 % limits."
    )
    shares = found.shares.filter(parts=parts)
    if shares.is_empty():
        return
    st.markdown("**Why some sets last longer than others**")
    st.caption(
        "How much of the difference in life comes with the model, how much with the batch, and how "
        "much sets of one batch differ among themselves."
    )
    st.markdown("\n".join(f"- {_sentence(line)}" for line in found.shares_for(parts)))
    take_away.drawn(
        charts.draw_shares(shares),
        "shares",
        alt="Shares of the variation of life between models, between batches and within a batch; "
        "the table below has the numbers.",
    )
    with st.expander("The same as a table"):
        take_away.shown(
            shares.select(
                pl.col("model").fill_null("all models").alias("Model"),
                pl.col("part_of_life").replace(_LIES).alias("Lies"),
                *(
                    (100.0 * pl.col(c))
                    .round(0)
                    .cast(pl.Int64)
                    .cast(pl.String)
                    .fill_null("not known")
                    .alias(name)
                    for c, name in (
                        ("share", "Share (%)"),
                        ("share_low", "at least"),
                        ("share_high", "at most"),
                    )
                ),
            ),
            "shares",
            hide_index=True,
            alt="Shares of the variation of life with 90 % limits",
        )


def _others(frame: pl.DataFrame) -> None:
    titles = {
        "batch across models": "The same batch in several models",
        "position": "Positions",
    }
    for level, title in titles.items():
        rows = frame.filter(level=level)
        if rows.is_empty():
            continue
        st.header(title, anchor=False)
        take_away.shown(
            rows.select(
                pl.col("name").alias("Name"),
                *([pl.col("model").alias("Model")] if level == "position" else []),
                pl.col("verdict").alias("Verdict"),
                _limits().alias("Times as long"),
                pl.col("failures").alias("Failures"),
                pl.col("lives").alias("Lives"),
            ),
            level.replace(" ", "-"),
            hide_index=True,
            placeholder="",
            alt=title,
            column_config={"Name": st.column_config.TextColumn(pinned=True), **_NUMBERS},
        )
        with st.expander(f"{title}, in sentences"):
            st.markdown(_list(rows.with_columns(name=_full_name()), "name"))


def _full_name() -> pl.Expr:
    return pl.concat_str("model", "name", separator=" ", ignore_nulls=True)


def _list(rows: pl.DataFrame, name: str) -> str:
    lines: Sequence[str] = [
        f"- **{words.escaped(row[name])}**: {words.escaped(row['reason'] or row['verdict'])}."
        for row in rows.iter_rows(named=True)
    ]
    return "\n".join(lines)


def _sentence(text: str) -> str:
    return f"{words.escaped(text).rstrip('.')}."


def _limits() -> pl.Expr:
    two = [pl.col(c).round(2).cast(pl.String) for c in ("effect", "effect_low", "effect_high")]
    return pl.format("{} ({} to {})", *two)


def _chance(column: str) -> pl.Expr:
    chance = pl.col(column)
    said = chance.map_elements(chance_words, return_dtype=pl.String, skip_nulls=True)
    return pl.when(chance.is_not_null()).then(said)


main()
