import re

import address
import choose_machine
import choose_reads
import page_names
import polars as pl
import reads
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.flow.choose import Asked, Choice, Told
from fleet.flow.choose_words import remark
from fleet.flow.policies import Asked as RulesAsked
from fleet.flow.policies import rule_names

_MOST = 1e7
_GONE = ("retired",)


def main() -> None:
    """Keep, recap or replace one machine; and what each rule for renewing parts costs."""
    place = shared.open_page(
        "Keep, recap or replace",
        "What each way of going on with a machine costs a year, and what would change the answer.",
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        unit = _unit(place)
        asked, told = _ask()
        found = choose_reads.choice(place.key, place.as_of, unit, asked, told)
        _say(found)
        shared.caution()  # before the ways of going on: most of them open the machine
        _options(found, asked.years)
        _rules(place, found.model)
    shared.show_notes(tuple(_plain(note) for note in found.notes))


def _unit(place: shared.Place) -> str:
    """The machine that is weighed; ends the page until one is chosen."""
    last = reads.last_reports(place.key).filter(~pl.col("kind").fill_null("").is_in(_GONE))
    if last.is_empty():
        st.info("Every machine is retired; there is nothing to decide.")
        st.stop()
    chosen = choose_machine.choose(
        last, lacks="No machine {} that is not retired is in these records."
    )
    if chosen is None:
        st.info(
            "Choose a machine: type any part of its name. The due list says which are pressing.",
            icon=":material/search:",
        )
        st.page_link("views/due.py", label="The due list", icon=":material/event_upcoming:")
        st.stop()
    return chosen


def _ask() -> tuple[Asked, Told]:
    """What is asked for: years, its state, prices and chances instead of the records'."""
    with st.expander("Years, prices and chances", icon=":material/tune:", key="fold_choose_asked"):
        one, two, three = st.columns(3)
        years = one.number_input(
            "Over how many years",
            min_value=1,
            max_value=40,
            step=1,
            **address.number("years", 1, 40, 10),
        )
        failed = two.selectbox(
            "It",
            [False, True],
            format_func=lambda v: "does not work now" if v else "is as it was reported",
            **address.choice("failed", [False, True], False),
        )
        leftover = three.selectbox(
            "Parts still good at the end count",
            [True, False],
            format_func=lambda v: "at what they are worth" if v else "as worth nothing",
            help="As worth nothing: the machine is not needed after those years.",
            **address.choice("leftover", [True, False], True),
        )
        prices = {
            name: column.number_input(
                label,
                min_value=0.0,
                max_value=_MOST,
                value=None,
                placeholder="as recorded",
                **address.number(f"choose_{name}", 0.0, _MOST, None),
            )
            for column, name, label in (
                (one, "used", "Price of a used machine"),
                (two, "used_age", "Age of its parts (years)"),
                (three, "new", "Price of a new machine"),
                (one, "board", "Price of a board"),
                (two, "planned", "All a planned recap costs"),
                (three, "failure", "All a failure costs"),
            )
        }
        chances = {
            name: column.number_input(
                label,
                min_value=0.0,
                max_value=100.0,
                value=None,
                placeholder="as learned",
                **address.number(f"choose_{name}", 0.0, 100.0, None),
            )
            for column, name, label in (
                (one, "success", "Recaps that succeed (in 100)"),
                (two, "beyond_repair", "Failures beyond repair (in 100)"),
            )
        }
    with shared.sentences():
        shares = {name: None if v is None else v / 100.0 for name, v in chances.items()}
        told = Told(**prices, **shares)
        return Asked(years=int(years), leftover=bool(leftover), failed=bool(failed)), told


def _say(found: Choice) -> None:
    lead, *rest = found.said
    st.markdown(f"**{words.escaped(_plain(lead))}.**")
    st.markdown("\n".join(f"- {words.escaped(_plain(text))}." for text in rest))
    if found.turned:
        with st.expander("What would change the answer", icon=":material/swap_horiz:"):
            st.markdown("\n".join(f"- {words.escaped(_plain(text))}." for text in found.turned))


def _options(found: Choice, years: int) -> None:
    st.header("What could be done", anchor=False)
    drawn = found.frame.filter(pl.col("rank").is_not_null())
    currency = found.frame["currency"].drop_nulls().first()
    take_away.drawn(
        charts.draw_choices(drawn, currency=None if currency is None else str(currency)),
        "what-could-be-done",
        alt="Cost a year of service of each way of going on, with limits; the table below has the "
        "numbers.",
    )
    st.caption(
        "Lines are 90 % limits of the expected cost: what is not known of lives; luck comes on "
        "top. Ways that end service are in the table only."
    )
    take_away.shown(
        found.frame.select(
            pl.col("what").alias("What to do"),
            pl.col("cost_per_year").alias("Cost a year"),
            (100.0 * pl.col("p_no_failure")).alias("No failure (in 100)"),
            pl.col("cost_low").alias("at least"),
            pl.col("cost_high").alias("at most"),
            pl.col("pay_now").alias("To pay now"),
            pl.col("years_of_service").alias("Years of service"),
            remark().map_elements(_plain, pl.String).alias("Remark"),
        ),
        "what-could-be-done",
        hide_index=True,
        placeholder="",
        alt=f"What each way of going on costs over {years} years",
        column_config={
            "What to do": st.column_config.TextColumn(pinned=True),
            "No failure (in 100)": st.column_config.NumberColumn(format="%.0f"),
            **{
                name: st.column_config.NumberColumn(format="%.1f")
                for name in ("Cost a year", "at least", "at most", "To pay now", "Years of service")
            },
        },
    )


def _plain(text: str) -> str:
    """A sentence without options of the command line: the boxes above stand for them."""
    shorter = re.sub(r"give --[a-z-]+ or ", "give it above, or ", text)
    shorter = re.sub(r", or give --[a-z-]+( and --[a-z-]+)*", "", shorter)
    return page_names.instead_of_commands(words.plain(shorter))


def _rules(place: shared.Place, model: str) -> None:
    with st.expander("What each rule for renewing parts costs", icon=":material/rule:",
                     **address.opened("rules")):  # fmt: skip
        if not st.session_state.get("rules"):
            return
        frame, notes = choose_reads.rules(place.key, place.as_of)
        usual = RulesAsked()
        names = rule_names(usual.risk, usual.fixed_years)
        rows = frame.filter(model=model)
        mine = [note for note in notes if note.startswith(f"{model}: ")]
        st.markdown("\n".join(f"- {words.escaped(_plain(note))}." for note in mine))
        take_away.shown(
            rows.select(
                pl.col("policy").replace_strict(names, return_dtype=pl.String).alias("Rule"),
                pl.col("age").alias("Planned age (years)"),
                pl.col("open_age").alias("When open, from"),
                pl.col("cost").alias("Cost a machine and year"),
                pl.col("cost_low").alias("at least"),
                pl.col("cost_high").alias("at most"),
                (100.0 * pl.col("saving")).alias("Saved (in 100)"),
                (100.0 * pl.col("failures")).alias("Failures in 100 machine years"),
            ), "rules",
            hide_index=True,
            placeholder="",
            alt=f"Rules for renewing parts of model {model}, each beside running to failure",
            column_config={
                "Rule": st.column_config.TextColumn(pinned=True),
                **{
                    name: st.column_config.NumberColumn(format="%.1f")
                    for name in ("Planned age (years)", "When open, from",
                                 "Cost a machine and year", "at least", "at most",
                                 "Failures in 100 machine years")
                },
                "Saved (in 100)": st.column_config.NumberColumn(format="%.0f"),
            },
        )  # fmt: skip


main()
