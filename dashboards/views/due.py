from collections.abc import Mapping
from typing import Any

import address
import altair  # noqa: F401 - loaded once with the first page, so that later ones open quicker
import due_expected
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words
from due_choice import Choice, choose

from fleet import charts
from fleet.flow.caution import CAUTION
from fleet.flow.read_aloud import chance_words, number

_SHOWN = 1_000  # rows sent to the browser; the download has all
_CHART_YEARS = 8
_LINKS = (
    ("choose", "Keep, recap or replace {}", ":material/balance:"),
    ("sheet", "Bench sheet of {}", ":material/print:"),
    ("log", "Log a report on {}", ":material/edit_note:"),
)


def main() -> None:
    """The due list: what to do with every working unit, the most urgent first."""
    place = shared.open_page("Due list", "Which machines should get new capacitors, when, and why.")
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        offers = reads.records(place.key, "offers")
        choice = choose(offers["part"].unique().sort().to_list())
        frame, notes = reads.due(place.key, place.as_of, choice)
        shown = _filter(frame)
        _say(shown, frame, place)
        if not shown.is_empty():
            _table(shown, choice, place)
            _chart(shown, place)
        due_expected.draw(place, st.session_state.get("model", []), share=choice.share)
    shared.show_notes(notes)
    st.warning(
        f"{CAUTION} Where they ask for a licensed person, that is who does it.",
        icon=":material/electrical_services:",
    )


def _filter(frame: pl.DataFrame) -> pl.DataFrame:
    one, two, three = st.columns(3)
    models, sources = _values(frame, "model"), _values(frame, "source")
    actions = [a for a in charts.ACTION_WORDS if a in set(frame["action"])]
    wanted = {
        "model": one.multiselect(
            "Model", models, placeholder="all models", **address.several("model", models)
        ),
        "action": two.multiselect(
            "What to do",
            actions,
            format_func=lambda a: charts.ACTION_WORDS[a],
            placeholder="everything",
            **address.several("action", actions),
        ),
        "source": three.multiselect(
            "Source", sources, placeholder="all sources", **address.several("source", sources)
        ),
    }
    for column, values in wanted.items():
        if values:
            frame = frame.filter(pl.col(column).is_in(values))
    return frame


def _values(frame: pl.DataFrame, column: str) -> list[str]:
    return frame[column].drop_nulls().unique().sort().to_list()


def _say(shown: pl.DataFrame, frame: pl.DataFrame, place: shared.Place) -> None:
    if frame.is_empty():
        st.info(f"No machine was known to be working on {words.day(place.as_of)}.")
        return
    if shown.is_empty():
        st.info("No working machine matches these choices; take one away.")
        return
    counts = dict(shown.group_by("action").len().iter_rows())
    with st.container(horizontal=True):
        for action, name in charts.ACTION_WORDS.items():
            st.metric(
                name.capitalize(),
                f"{counts.get(action, 0):,}",
                help=words.ACTIONS_ADVICE[action],
                width=150,
            )
    of = "" if shown.height == frame.height else f" of {frame.height:,}"
    st.caption(
        f"{words.counted(shown.height, 'working unit')}{of}, as known on {words.day(place.as_of)}."
    )


def _table(shown: pl.DataFrame, choice: Choice, place: shared.Place) -> None:
    years = number(choice.horizon)
    picked = st.dataframe(
        _in_words(shown.head(_SHOWN), years),
        hide_index=True,
        on_select="rerun",
        selection_mode="single-row",
        key="due_table",
        placeholder="",
        alt="Working units by urgency, with what to do and when",
        column_config={
            "Unit": st.column_config.TextColumn(pinned=True),
            "Due": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "Due, by the reports alone": st.column_config.DateColumn(format="YYYY-MM-DD"),
            "Overdue (days)": st.column_config.NumberColumn(format="localized"),
            "Age (years)": st.column_config.NumberColumn(format="%.1f"),
            "Last known working": st.column_config.DateColumn(format="YYYY-MM-DD"),
        },
    )
    if shown.height > _SHOWN:
        st.caption(f"The {_SHOWN:,} most urgent are shown; the download has all {shown.height:,}.")
    rows = picked.selection.rows
    _reason(shown, rows[0] if rows else 0, years)
    whole = shown.with_columns(age_unit=pl.lit("years"))
    take_away.table(whole, f"due-{place.as_of.isoformat()}", what="Download the list")


def _in_words(frame: pl.DataFrame, years: str) -> pl.DataFrame:
    """The rows as people read them; order kept."""
    chances = {
        f"Fails within {years} years": [chance_words(p) for p in frame["p_fail"]],
        "Has failed unseen": [chance_words(p) for p in frame["p_failed_unseen"]],
        "Best age to replace (years)": [
            "never" if a is None and known else "unknown" if a is None else f"{a:.1f}"
            for a, known in zip(frame["optimal_age"], frame["supported"], strict=True)
        ],
    }
    beside: list[pl.Expr | pl.Series] = []
    if "due_on_by_likelihood" in frame.columns:
        alone = [chance_words(p) for p in frame["p_fail_by_likelihood"]]
        beside = [
            pl.col("due_on_by_likelihood").alias("Due, by the reports alone"),
            pl.Series("Fails, by the reports alone", alone, dtype=pl.String),
        ]
    return frame.select(
        pl.col("unit").alias("Unit"),
        pl.col("action").replace(charts.ACTION_WORDS).alias("What to do"),
        pl.col("due_on").alias("Due"),
        pl.when(pl.col("overdue_days") > 0)
        .then(pl.col("overdue_days").round())
        .alias("Overdue (days)"),
        pl.col("model").alias("Model"),
        pl.col("batch").alias("Batch"),
        pl.col("age").alias("Age (years)"),
        *(pl.Series(name, values, dtype=pl.String) for name, values in chances.items()),
        *beside,
        pl.col("last_known_working").alias("Last known working"),
        pl.when("supported").then(pl.lit("yes")).otherwise(pl.lit("no")).alias("Within ages seen"),
    )


def _reason(shown: pl.DataFrame, index: int, years: str) -> None:
    names = shown["unit"].head(_SHOWN).to_list()
    with st.container(border=True):
        unit = names[min(index, len(names) - 1)]
        row = shown.row(names.index(unit), named=True)
        st.markdown(f"**{unit}: {charts.ACTION_WORDS.get(row['action'], row['action'])}**")
        st.markdown(f"{row['reason'][:1].upper()}{row['reason'][1:]}")
        st.markdown(_figures(row, years))
        if row["due_on"] is not None:
            st.markdown(_dates(row))
        st.caption("Select a row of the table to read another.")
        for view, label, icon in _LINKS:
            st.page_link(
                f"views/{view}.py", label=label.format(unit), icon=icon, query_params={"unit": unit}
            )


def _figures(row: Mapping[str, Any], years: str) -> str:
    chance, low, high, unseen = (
        _percent(row[name]) for name in ("p_fail", "p_fail_low", "p_fail_high", "p_failed_unseen")
    )
    return (
        f"In figures: if it works now, {chance} that a capacitor fails within {years} years "
        f"(90 % limits {low} to {high}); {unseen} that it has failed unseen."
    )


def _percent(chance: float | None) -> str:
    if chance is None:
        return "unknown"
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100 * chance:.0f} %"


def _dates(row: Mapping[str, Any]) -> str:
    due, low, high = row["due_on"], row["due_low"], row["due_high"]
    if due == low == high:
        return f"Due {words.day(due)}, wherever in its limits the truth lies."
    early = "never" if low is None else words.day(low)
    late = "never" if high is None else words.day(high)
    return f"Due {words.day(due)}; within the limits it could be from {early} to {late}."


def _chart(shown: pl.DataFrame, place: shared.Place) -> None:
    st.subheader("When the work comes", anchor=False)
    until = place.as_of.replace(year=place.as_of.year + _CHART_YEARS, day=1)
    due = shown.select(pl.exclude("source"))
    dated = due["due_on"].drop_nulls()
    later = int((dated > until).sum())
    never = shown.height - dated.len()
    counts = charts.count_by_quarter(due, until=until)
    within = int(counts["units"].sum())
    sentence = (
        f"{words.counted(within, 'unit is', 'units are')} due by {words.day(until)}, "
        f"{later:,} later, and {never:,} have no due date."
    )
    st.markdown(sentence)
    if within:
        take_away.drawn(charts.draw_due_dates(due, until=until), "when-work-comes", alt=sentence)
        wide = counts.with_columns(
            pl.format("{} Q{}", pl.col("quarter").dt.year(), pl.col("quarter").dt.quarter())
        ).pivot("action", index="quarter", values="units")
        with st.expander("The same as a table (units per quarter)"):
            take_away.shown(
                wide.fill_null(0).rename({"quarter": "Quarter"}),
                "when-work-comes",
                hide_index=True,
                alt="Units due in each quarter by what to do",
            )


main()
