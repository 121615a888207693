"""Whether heat, use or a batch shortens life, and which clock counts, on the curves page."""

import address
import curve_reads
import curve_view
import polars as pl
import streamlit as st
import take_away
import words
from curve_view import NO_DECIMALS, ONE_DECIMAL, View

_CLOCKS = {"age": "calendar age", "hours": "powered hours", "mix": "the best mix of both"}


def draw(view: View) -> None:
    """What may shorten life: sentences, then the numbers."""
    columns = st.multiselect(
        "What may matter",
        list(words.FACTS),
        format_func=lambda c: words.FACTS[c],
        **address.several("causes", list(words.FACTS), ("ambient_c", "hours_per_year")),
    )
    if not columns:
        st.info("Choose at least one thing that may matter.")
        return
    together = (
        " Taken together, each with the others held fixed: only lives count for which all of them "
        "are known, so one alone often rests on more lives."
    )
    st.caption(
        "Of all lives of the models and parts chosen, not only of the groups shown."
        + (together if len(columns) > 1 else "")
    )
    curve_view.with_sentences(lambda: _effects(view, tuple(columns)))


def _effects(view: View, columns: tuple[str, ...]) -> None:
    found = curve_reads.causes(view.choice, columns)
    curve_view.say(found.notes, view)
    frame = found.frame
    if frame.is_empty():
        return
    what = pl.col("column").replace(words.FACTS)
    named = pl.col("value").is_not_null().any()
    value = [pl.col("value").fill_null("").alias("Value")] if frame.select(named).item() else []
    take_away.shown(
        frame.select(
            what.alias("What"),
            *value,
            curve_view.with_limits(frame, "effect").alias("Times as long"),
            _per().alias("Change"),
            curve_view.p_value("p_value").alias("Chance of as much"),
            pl.col("lives").alias("Lives"),
            pl.col("failures").alias("Failures"),
            pl.col("missing").alias("Left out, not known"),
        ),
        "what-shortens-life",
        hide_index=True,
        alt="How many times as long lives last for more heat, more use or another batch",
        column_config={
            "Lives": NO_DECIMALS,
            "Failures": ONE_DECIMAL,
            "Left out, not known": NO_DECIMALS,
        },
    )
    st.caption(
        f"Times as long: below 1 lives are shorter; in brackets the {view.level:.0%} limits. "
        "Chance of as much: how often no effect at all would look like this."
    )


def _per() -> pl.Expr:
    """What an effect is for: "for 10 °C more", "for twice as much", "instead of Fell-0109"."""
    warmer = (pl.col("column") == "ambient_c") & pl.col("per").str.ends_with(" more")
    in_degrees = pl.col("per").str.replace(" more", " °C more")
    told = pl.when(warmer).then(in_degrees).otherwise(pl.col("per"))
    return pl.when(pl.col("value").is_null()).then("for " + told).otherwise(told)


def draw_clocks(view: View) -> None:
    """Whether lives follow age, powered hours or a mix: sentences, then the numbers."""
    found = curve_reads.clocks(view.choice)
    curve_view.say(found.notes, view)
    frame = found.frame
    share = frame.with_columns(pl.col("share_hours", "share_low", "share_high") * 100)
    limits = pl.format(
        "{} to {}", *(pl.col(c).round(0).cast(pl.Int64) for c in ("share_low", "share_high"))
    )
    take_away.shown(
        share.select(
            pl.col("clock").replace(_CLOCKS).alias("Clock"),
            pl.col("share_hours").alias("Wear that hours make (%)"),
            limits.fill_null("").alias(f"{view.level:.0%} limits (%)"),
            pl.col("times_as_likely").alias("Times as likely as age"),
            curve_view.p_value("p_value").alias("Chance of falling so far behind"),
        ),
        "age-or-hours",
        hide_index=True,
        alt="Calendar age, powered hours and the best mix, compared on the same lives",
        column_config={
            "Wear that hours make (%)": NO_DECIMALS,
            "Times as likely as age": st.column_config.NumberColumn(format="%.3g"),
        },
    )
    st.caption(
        "Of all lives of the models and parts chosen whose hours are known. Wear that hours make "
        "is reckoned for typical use; the rest comes with age alone."
    )
