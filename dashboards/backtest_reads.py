"""The cached look back."""

from datetime import date
from pathlib import Path

import reads
import streamlit as st

from fleet.flow.backtest import Asked, LookBack, look_back


@st.cache_data(
    max_entries=4, show_spinner="Going back to each past day; with years of records this takes "
    "a while"
)  # fmt: skip
def looked_back(key: reads.Key, as_of: date, asked: Asked) -> LookBack:
    """How past advice did, as known on a day."""
    return look_back(Path(key[0]), as_of=as_of, asked=asked)
