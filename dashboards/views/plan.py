import address
import order_section
import page_names
import plan_jobs
import plan_reads
import polars as pl
import policy_choice
import reads
import shared
import streamlit as st
import take_away
import words

from fleet import charts
from fleet.flow.plan import Plan, months_from

_MOST_MONTHS = 60
_MOST = 1e9
_FULLEST = "the fullest"


def main() -> None:
    """Which machine is done in which month, and at the foot what to order for it."""
    place = shared.open_page(
        "Plan and order",
        "Which machine goes to the bench in which month, within its hours and a budget.",
    )
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        found = plan_reads.planned(place.key, place.as_of, _choose(place))
        st.markdown(
            "\n".join(
                f"- {words.escaped(page_names.instead_of_commands(line))}" for line in found.said
            )
        )
        if found.jobs.is_empty():
            st.info("No job is planned.")
        else:
            _hours(found)
            plan_jobs.draw(found, place)
        _aside(found)
        if found.jobs.is_empty() and not found.first.is_empty():
            shared.caution()  # else it stands with the jobs
    shared.show_notes(found.notes, what="the plan")
    if not found.jobs.is_empty():
        st.divider()
        order_section.draw(place, found)


def _choose(place: shared.Place) -> plan_reads.Wanted:
    with st.expander(
        "Months, hours, budget and rule", icon=":material/tune:", key="fold_plan_asked"
    ):
        one, two, three = st.columns(3)
        months = one.number_input(
            "Months, the first being what is left of this one",
            min_value=1,
            max_value=_MOST_MONTHS,
            step=1,
            **address.number("months", 1, _MOST_MONTHS, 24),
        )
        hours = two.number_input(
            "Hours at the bench a month",
            min_value=0.25,
            max_value=_MOST,
            value=None,
            placeholder="as the shop's records say",
            **address.number("bench_hours", 0.25, _MOST, None),
        )
        budget = three.number_input(
            "Budget a month",
            min_value=0.01,
            max_value=_MOST,
            value=None,
            placeholder="as the shop's records say",
            help="In the currency of the records.",
            **address.number("budget", 0.01, _MOST, None),
        )
        names = [month.name for month in months_from(place.as_of, int(months))]
        lose = one.selectbox(
            "What changes if a month is lost",
            [_FULLEST, *names],
            help="A month without hours at the bench, known beforehand.",
            **address.choice("lose", [_FULLEST, *names], _FULLEST),
        )
        policy = policy_choice.choose(two, three, one)
    return plan_reads.Wanted(
        months=int(months),
        hours=hours,
        budget=budget,
        lose=None if lose == _FULLEST else str(lose),
        policy=policy,
    )


def _hours(found: Plan) -> None:
    st.header("Hours at the bench", anchor=False)
    busiest = found.months.sort("hours", descending=True).row(0, named=True)
    has = "no limit is recorded"
    if busiest["hours_free"] is not None:
        has = f"it has {busiest['hours'] + busiest['hours_free']:.1f}"
    sentence = (
        f"{busiest['month']} is the fullest month: {busiest['hours']:.1f} hours; {has}. The bars "
        "are the hours of each month by model, getting ready included; the grey ticks what a month "
        "has."
    )
    st.markdown(sentence)
    take_away.drawn(
        charts.draw_plan_hours(found.work, found.months), "hours-by-month", alt=sentence
    )
    money = f" ({found.currency})" if found.currency else ""
    with st.expander("The same as a table (months)"):
        take_away.shown(
            found.months.select(
                pl.col("month").alias("Month"),
                pl.col("jobs").alias("Jobs"),
                pl.col("models").alias("Models"),
                pl.col("hours").alias("Hours"),
                pl.col("hours_free").alias("Hours free"),
                pl.col("cost").alias(f"Cost{money}"),
                pl.col("budget_free").alias(f"Money free{money}"),
            ),
            "months",
            hide_index=True,
            placeholder="",
            alt="Jobs, hours and money of each month of the plan",
        )


def _aside(found: Plan) -> None:
    """Machines whose date lies within the plan and that have no job."""
    for title, name, frame, alt in (
        ("Left for later", "left-for-later", found.later,
         "Due machines that found no place in the plan, and why"),
        ("To measure or ask after first", "measure-or-ask-first", found.first,
         "Machines to measure or ask after first"),
    ):  # fmt: skip
        if frame.is_empty():
            continue
        with st.expander(f"{title} ({frame.height:,})"):
            shown = frame.select(
                pl.col("unit").alias("Machine"),
                *(
                    [pl.col("action").replace(charts.ACTION_WORDS).alias("What to do")]
                    if "action" in frame.columns
                    else []
                ),
                pl.col("due_on").alias("Due"),
                pl.col("model").alias("Model"),
                pl.col("reason").alias("Why"),
            )
            take_away.shown(shown, name, hide_index=True, placeholder="", alt=alt)


main()
