import altair  # noqa: F401 - loaded once with the first page, so that later ones open quicker
import reads
import shared
import streamlit as st
import today_ask
import today_changed
import today_glance
import today_jobs
import today_machines
import today_reads
import today_report


def main() -> None:
    """What to do now, what changed, whom to ask, this month's jobs, the report for the group."""
    place = shared.open_page("Today", "What is due now, what changed, and whom to ask.")
    with shared.sentences():
        if reads.records(place.key, "units").is_empty():
            shared.say_nothing_yet()
            return
        due, changed, ask = today_glance.lines()
        with shared.section():
            due.markdown(today_glance.due(today_reads.due(place.key, place.as_of)))
            today_machines.draw(place)
        # What changed takes longest (a second due list): its place is kept, and filled at the end.
        below = st.container()
        with shared.section():
            silent = today_reads.not_heard_of_count(place.key, place.as_of)
            ask.markdown(today_glance.ask(today_reads.to_ask(place.key, place.as_of)[1], silent))
            today_ask.draw(place)
        with shared.section():
            today_jobs.draw(place)
        with shared.section():
            today_report.draw(place)
        with below, shared.section():
            found, since = today_changed.draw(place)
            changed.markdown(today_glance.changed(found, since))


main()
