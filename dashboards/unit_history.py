"""History, contradictions and readings on the page of one machine."""

from collections.abc import Mapping
from typing import Any

import access
import address
import polars as pl
import streamlit as st
import take_away
import unit_words
import words

from fleet import charts
from fleet.flow.machine_conflicts import Disagreement
from fleet.flow.machine_list import history_lines
from fleet.flow.one_machine import OneMachine

_QUANTITIES = {
    "esr": ("ESR", "esr_share", "esr_ohm", "ESR (ohm)", "ESR, of its limit"),
    "capacitance": (
        "Capacitance", "farads_share", "farads", "Capacitance (farad)",
        "Capacitance, of its limit",
    ),
}  # fmt: skip
_NO_MORE = ("corrected", "taken back")
_COLUMNS = {
    "on": "When",
    "what": "What",
    "said": "Details",
    "standing": "But",
    "changed": "The correction changed",
    "notes": "Notes",
    "by": "By",
    "entered_on": "Entered",
    "record": "Record",
}
_IN_WORDS = {"what": unit_words.WHAT, "standing": unit_words.STANDING, "said": {}}


def disagreements(found: OneMachine) -> None:
    """Records that cannot all be true: both versions, and how to settle it."""
    for number, one in enumerate(found.disagreements):
        with st.container(border=True):
            if one.what == "contradicts":
                st.error(
                    f"Its records contradict each other: {one.reason}.", icon=":material/error:"
                )
            else:
                st.warning(f"{_capital(one.reason)}.", icon=":material/content_copy:")
            _versions(one)
            st.markdown(one.advice)
            if access.person().may("log"):
                _offer(found, one, number)


def _versions(one: Disagreement) -> None:
    shown = one.versions.filter(pl.col("differs") | pl.col("field").is_in(["kind", "date"]))
    st.dataframe(
        shown.select(
            pl.col("field").str.replace_all("_", " ").alias("Field"),
            *(pl.col(record).fill_null("") for record in one.records),
        ),
        hide_index=True,
        placeholder="",
        alt="What each of the records says, side by side",
    )


def _offer(found: OneMachine, one: Disagreement, number: int) -> None:
    reports = set(found.events.filter(pl.col("kind") == "reports")["record"])
    with st.container(horizontal=True):
        for record in one.records:
            if record in reports:
                st.button(
                    f"Correct {record}",
                    icon=":material/edit:",
                    key=f"correct_{number}_{record}",
                    on_click=_choose,
                    args=(record,),
                )


def _choose(record: str) -> None:
    st.session_state["amend_record"] = record
    address.put("show_correct", True)


def history(found: OneMachine) -> None:
    """All that was told of it in order, corrections beside what they corrected."""
    st.header("From birth to now", anchor=False)
    events = found.events
    gone = events.filter(pl.col("standing").is_in(_NO_MORE)).height
    if gone and not st.toggle(
        f"Show also what was corrected or taken back ({gone})", value=True, key="unit_gone"
    ):
        events = events.filter(~pl.col("standing").is_in(_NO_MORE))
    lines = history_lines(events)
    st.markdown("\n".join(_line(row) for row in lines.iter_rows(named=True)))
    table = _history_table(events)
    with st.expander(f"Every record as a table ({events.height})"):
        st.dataframe(
            table,
            hide_index=True,
            placeholder="",
            alt=f"All that was told of {found.unit}, the oldest first",
            column_config={
                "When": st.column_config.TextColumn(pinned=True),
                "Details": st.column_config.TextColumn(width="large"),
            },
        )
    take_away.table(table, f"{found.unit}-history", what="History")


def _line(row: Mapping[str, Any]) -> str:
    """One line of the list: when, what, how often, details, and what stands against it."""
    what = unit_words.WHAT.get(row["what"], row["what"])
    times = f" {row['events']} times" if row["events"] > 1 else ""
    said = [row["said"] or ""]
    if row["notes"] and access.person().may("log"):
        said.append(f"“{row['notes']}”")
    if row["changed"]:
        said.append(f"a correction: {row['changed']}")
    details = words.escaped("; ".join(part for part in said if part))
    by = f" ({words.escaped(row['by'])})" if row["by"] else ""
    line = f"**{row['when']}** {what}{times}{': ' if details else ''}{details}{by}"
    standing = unit_words.STANDING.get(row["standing"], row["standing"])
    if row["standing"] in _NO_MORE:
        return f"- ~~{line}~~ :gray[{standing}]"
    return f"- {line} :orange[:material/warning: {standing}]" if standing else f"- {line}"


def _history_table(events: pl.DataFrame) -> pl.DataFrame:
    """Every event as people read it; columns that hold nothing are left out."""
    shown = events if access.person().may("log") else events.drop("notes")
    table = shown.select(
        pl.col(name).alias(said) if name not in _IN_WORDS
        else pl.col(name).replace(_IN_WORDS[name]).replace("", None).alias(said)
        for name, said in _COLUMNS.items() if name in shown.columns
    )  # fmt: skip
    return table.select(
        name for name in table.columns if table[name].null_count() < table.height
    ).with_columns(pl.col(pl.Date).cast(pl.String))


def readings(found: OneMachine) -> None:
    """What was measured, by position over time, against its limits."""
    if found.readings.is_empty():
        return
    st.header("What was measured", anchor=False)
    st.markdown(" ".join(found.readings_said))
    offered = [
        name
        for name, (_, share, *_) in _QUANTITIES.items()
        if found.readings[share].null_count() < found.readings.height
    ]
    if offered:
        _readings_chart(found, offered)
    table = _readings_table(found)
    with st.expander("The same as a table", expanded=not offered):
        st.dataframe(table, hide_index=True, placeholder="", alt="Readings by position and day")
    take_away.table(table, f"{found.unit}-readings", what="Readings")


def _readings_chart(found: OneMachine, offered: list[str]) -> None:
    chosen = offered[0]
    if len(offered) > 1:
        chosen = st.radio(
            "Drawn", offered, format_func=lambda q: _QUANTITIES[q][0], horizontal=True,
            key="unit_quantity",
        )  # fmt: skip
    name, share, value, unit, title = _QUANTITIES[chosen]
    points = found.readings.select(
        "position", "on", "stage", pl.col(share).alias("share"), pl.col(value).alias("value")
    ).drop_nulls(["share", "on"])
    most = points["position"].unique(maintain_order=True).head(charts.MOST_GROUPS)
    drawn = charts.draw_readings(
        points.filter(pl.col("position").is_in(most.implode())), title=title, value=unit
    )
    bad = "above" if chosen == "esr" else "below"
    st.altair_chart(
        drawn,
        alt=f"{name} at each position as a share of its limit; the table below has the numbers.",
    )
    left = points["position"].n_unique() - len(most)
    st.caption(
        f"The dashed line is the limit of each part: {bad} it a part fails. Shares run by ratio."
        + (f" {left} more positions are in the table only." if left else "")
    )
    take_away.picture(drawn, f"{found.unit}-{chosen}", what="Picture")


def _readings_table(found: OneMachine) -> pl.DataFrame:
    return found.readings.select(
        pl.col("position").alias("Position"),
        pl.col("date").alias("When"),
        pl.col("stage").replace(unit_words.STAGES).alias("Stage"),
        pl.col("verdict").replace_strict(unit_words.VERDICTS, default="does not say").alias("So"),
        pl.col("esr_ohm").round_sig_figs(4).alias("ESR (ohm)"),
        pl.col("esr_limit").round_sig_figs(4).alias("at most (ohm)"),
        (1e6 * pl.col("farads")).round_sig_figs(4).alias("Capacitance (µF)"),
        (1e6 * pl.col("least_farads")).round_sig_figs(4).alias("at least (µF)"),
        pl.col("volts_positive").alias("+ end (V)"),
        pl.col("volts_negative").alias("− end (V)"),
        pl.when("in_circuit").then(pl.lit("in circuit")).alias("Where"),
        pl.col("instrument").alias("Instrument"),
    )


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
