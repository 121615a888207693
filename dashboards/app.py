"""The dashboard's router: which pages there are, and nothing else."""

import streamlit as st

st.set_page_config(
    page_title="Recap Almanac",
    page_icon=":material/event_upcoming:",
    layout="wide",
    menu_items={"About": "**Recap Almanac**: when is each ageing machine due for new capacitors?"},
)

st.navigation(
    [
        st.Page("views/due.py", title="Due list", icon=":material/event_upcoming:", default=True),
        st.Page("views/log.py", title="Log a report", icon=":material/edit_note:"),
        st.Page("views/curves.py", title="Curves", icon=":material/show_chart:"),
    ],
    position="top",
).run()
