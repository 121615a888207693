"""The dashboard's router: which pages there are, and nothing else."""

from pathlib import Path

import access
import opening
import streamlit as st

st.set_page_config(
    page_title="Recap Almanac",
    # A file of our own: icons given by name are fetched from a font service.
    page_icon=Path(__file__).parent / "icon.svg",
    layout="wide",
    menu_items={"About": "**Recap Almanac**: when is each ageing machine due for new capacitors?"},
)

st.html(Path(__file__).parent / "look.css")

who = access.enter()
access.draw_account()
pages = access.pages_for(
    who,
    {
        "Now": [
            st.Page("views/today.py", title="Today", default=True),
            st.Page("views/due.py", title="Due list"),
            st.Page("views/plan.py", title="Plan and order"),
            st.Page("views/units.py", title="One machine"),
        ],
        "At the bench": [
            st.Page("views/sheet.py", title="Bench sheet"),
            st.Page("views/log.py", title="Log a report"),
            st.Page("views/parts.py", title="Parts"),
            st.Page("views/outcomes.py", title="How recaps turned out"),
        ],
        "What the reports say": [
            st.Page("views/curves.py", title="Curves"),
            st.Page("views/suspects.py", title="Batch or design?"),
            st.Page("views/choose.py", title="Keep, recap or replace"),
            st.Page("views/backtest.py", title="How well it did"),
        ],
        "Keep in order": [
            st.Page("views/health.py", title="Data health"),
            st.Page("views/bring_in.py", title="Bring in data"),
            st.Page("views/trail.py", title="Who did what"),
        ],
    },
)
page = st.navigation(pages, position="top")
st.set_page_config(page_title=f"{page.title}: Recap Almanac")
with opening.said(page.title):
    page.run()
