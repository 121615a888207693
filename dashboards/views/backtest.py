from datetime import date

import address
import backtest_reads
import backtest_tables
import reads
import shared
import streamlit as st
import take_away
import words
from streamlit.delta_generator import DeltaGenerator

from fleet import charts
from fleet.flow.backtest import Asked, LookBack
from fleet.flow.read_aloud import number

_FEW = 3  # past days shown before all are done
_DONE = "backtest_done"  # the look back that was taken to its end in this visit
_SO_FAR = "So far, from {} of {} past days; all of them may say otherwise. "
_ONLY_FEW = "{few} of {all} past days; untick the choice above to look at all of them."
_OF_COMMANDS = {
    "--as-dated counts every record as entered on its own date": "tick “count every record as "
    "entered on its own date” above to see what would have been known had they been entered at "
    "once",
    "(--by model)": "(the table below)",
    "give planned_cost and failure_cost of the models": "say what a planned recap and a failure "
    "cost for each of the models",
    "(--horizon-years)": "(choose fewer years above)",
}


def main() -> None:
    """Past advice beside what happened."""
    place = shared.open_page(
        "How well it did",
        "The due lists of past days, made again from what was known then, beside what happened.",
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        asked, only_few = _choose()
        looking = backtest_reads.opened(place.key, place.as_of, asked)
        few = looking.few(_FEW)
        whole = (place.key, place.as_of, asked)
        all_done = st.session_state.get(_DONE) == whole
        days = looking.dates if all_done and not only_few else few
        bar = st.empty()
        _look(bar, place, asked, days)
        many = (len(days), len(looking.dates))
        so_far = _SO_FAR.format(*many) if days != looking.dates else ""
        _show(backtest_reads.together(place.key, place.as_of, asked, days), asked, so_far)
        if days != looking.dates and not only_few:
            # the few days can be read while the others are looked at
            _look(bar, place, asked, looking.dates)
            st.session_state[_DONE] = whole
            st.rerun()
        if only_few and days != looking.dates:
            st.caption(_ONLY_FEW.format(few=len(days), all=len(looking.dates)))


def _look(bar: DeltaGenerator, place: shared.Place, asked: Asked, days: tuple[date, ...]) -> None:
    """Look at past days, telling how far it has come; the bar goes when all are done."""

    def tell(done: int, day: date) -> None:
        text = f"Going back to {words.day(day)}: {done} of {len(days)} past days done."
        bar.progress(done / len(days), text=text)

    backtest_reads.look_at_each(place.key, place.as_of, asked, days, tell)
    bar.empty()


def _show(found: LookBack, asked: Asked, so_far: str) -> None:
    """`so_far`: what the answer rests on while not all past days have been looked at."""
    first, *rest = (words.escaped(_plain(line)) for line in found.said)
    st.info(f"{so_far}**{first}**", icon=":material/history:")
    st.markdown("\n".join(f"- {line}" for line in rest))
    if not found.days.is_empty():
        _picture(found, asked)
        _tables(found, asked)
    shared.show_notes(tuple(_plain(note) for note in found.notes))


def _choose() -> tuple[Asked, bool]:
    """What is asked, and whether a few past days are enough."""
    with st.expander(
        "Years ahead, steps back and the plain rule",
        icon=":material/tune:",
        key="fold_backtest_asked",
    ):
        one, two, three = st.columns(3)
        horizon = one.number_input(
            "Years ahead of each past day",
            min_value=0.25,
            max_value=30.0,
            step=0.5,
            **address.number("ahead", 0.25, 30.0, 2.0),
        )
        every = two.number_input(
            "Years from one past day to the next",
            min_value=0.25,
            max_value=10.0,
            step=0.25,
            **address.number("every", 0.25, 10.0, 1.0),
        )
        fixed = three.number_input(
            "Plain rule to hold the advice against: new parts at (years)",
            min_value=1.0,
            max_value=100.0,
            step=1.0,
            **address.number("fixed_age", 1.0, 100.0, 10.0),
        )
        dated = st.checkbox(
            "Count every record as entered on its own date",
            help="For records that were typed in or brought in long after what they tell of.",
            **address.choice("as_dated", [False, True], False),
        )
        few = st.checkbox(
            f"Only {_FEW} past days, to be quick",
            help="The first, the last and one between. Otherwise these come first and all others "
            "after them.",
            **address.choice("few", [False, True], False),
        )
    asked = Asked(
        horizon_years=float(horizon),
        every_years=float(every),
        fixed_age_years=float(fixed),
        as_dated=bool(dated),
    )
    return asked, bool(few)


def _picture(found: LookBack, asked: Asked) -> None:
    st.header("Did the chances come true?", anchor=False)
    take_away.drawn(
        charts.draw_calibration(found.bins),
        "chances-come-true",
        alt="Of 100 machines, how many were expected to fail and how many failed, for groups of "
        "like chance, with limits; the table below has the numbers.",
    )
    st.caption(
        "Each dot is a group of machines that were given like chances. On the dashed line as many "
        "failed as was said; below it fewer, above it more. Strokes are what luck can do "
        f"({asked.level:.0%} limits)."
    )
    backtest_tables.draw_sizes(found.bins)


def _tables(found: LookBack, asked: Asked) -> None:
    fixed = number(asked.fixed_age_years)
    st.header("Day by day", anchor=False)
    backtest_tables.draw_scores(found.days, "as_of", "Past day", fixed_age=fixed)
    st.header("Model by model", anchor=False)
    backtest_tables.draw_scores(found.together, "model", "Model", fixed_age=fixed)
    currency = found.together["currency"][0]
    st.caption(
        "Score: 0 is perfect, lower is better; counting gives all machines of a model the chance "
        "that past failures per year of watching suggest. Costs are per machine and year"
        f"{f' in {currency}' if currency else ''}, had every date been kept; parts that are still "
        "good at the end count for what they are worth then. A machine that got new parts in "
        "advance hides when the old ones would have failed, so it counts in none of these."
    )


def _plain(text: str) -> str:
    for name, said in _OF_COMMANDS.items():
        text = text.replace(name, said)
    return text


main()
