"""Buttons to take a table or a chart away as a file; made only when pressed."""

from collections.abc import Callable
from io import BytesIO
from typing import Any

import polars as pl
import streamlit as st

from fleet import charts
from fleet.flow.formulas import quoted_csv

SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_ROWS = 1_000  # sent to the browser
_Maker = Callable[[], bytes]


def shown(frame: pl.DataFrame, name: str, *, what: str = "Table", **how: Any) -> None:  # noqa: ANN401
    """A table as st.dataframe shows it (`how`), with its files below."""
    rows(frame, **how)
    table(frame, name, what=what)


def rows(frame: pl.DataFrame, **how: Any) -> Any:  # noqa: ANN401
    """A table as st.dataframe shows it; of a long one the first rows, and that there are more.

    st.dataframe sends every row to the browser.
    """
    shown = st.dataframe(frame.head(MOST_ROWS), **how)
    if frame.height > MOST_ROWS:
        st.caption(
            f"The first {MOST_ROWS:,} of {frame.height:,} rows are shown; the files have all."
        )
    return shown


def drawn(chart: charts.Drawn, name: str, *, alt: str, what: str = "Picture") -> None:
    """A chart with its pictures below."""
    st.altair_chart(chart, alt=alt)
    picture(chart, name, what=what)


def table(frame: pl.DataFrame, name: str, *, what: str) -> None:
    """CSV and XLSX of a table; `name`: of the file, without ending; `what`: on the buttons.

    Lists become one text; a page has each name once.
    """
    with st.container(horizontal=True):
        _button(f"{what} (CSV)", lambda: _text_file(frame), f"{name}.csv",
                "text/csv")  # fmt: skip
        _button(f"{what} (XLSX)", lambda: _workbook(frame), f"{name}.xlsx", SHEET)


def picture(chart: charts.Drawn, name: str, *, what: str) -> None:
    """PNG and SVG of a chart, on white."""
    with st.container(horizontal=True):
        _button(f"{what} (PNG)", lambda: charts.as_picture(chart, "png"), f"{name}.png",
                "image/png")  # fmt: skip
        _button(f"{what} (SVG)", lambda: charts.as_picture(chart, "svg"), f"{name}.svg",
                "image/svg+xml")  # fmt: skip


def file(
    label: str, maker: _Maker, file_name: str, mime: str, *, icon: str = ":material/download:"
) -> None:
    """A file of its own kind that is the point of a section: a button that stands out."""
    _button(label, maker, file_name, mime, icon=icon, type="secondary")


def _button(label: str, maker: _Maker, file_name: str, mime: str, **how: Any) -> None:  # noqa: ANN401
    st.download_button(
        label,
        maker,
        file_name=file_name,
        mime=mime,
        on_click="ignore",
        key=f"take_{file_name}",
        **{"icon": ":material/download:", "type": "tertiary", **how},
    )


def _flat(frame: pl.DataFrame) -> pl.DataFrame:
    """Lists of texts as one text each: neither file holds lists."""
    lists = [name for name, dtype in frame.schema.items() if isinstance(dtype, pl.List)]
    return frame.with_columns(pl.col(lists).cast(pl.List(pl.String)).list.join(";"))


def _text_file(frame: pl.DataFrame) -> bytes:
    """The table as CSV; text that begins like a formula is quoted."""
    return quoted_csv(_flat(frame)).encode()


def _workbook(frame: pl.DataFrame) -> bytes:
    """The table as a workbook; text that begins with an equals sign stays text."""
    import xlsxwriter

    file = BytesIO()
    as_text = {"strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(file, as_text) as book:
        _flat(frame).write_excel(book, autofit=True)
    return file.getvalue()
