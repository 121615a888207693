"""A chart as a picture, to be put into a letter or on a wall."""

from io import BytesIO, StringIO
from typing import Literal

import altair as alt

Drawn = alt.LayerChart | alt.Chart
_WIDTH = 860
_SCALE = 2.0


def as_picture(chart: Drawn, form: Literal["png", "svg"]) -> bytes:
    """The bytes of a PNG or SVG of a chart, dark on white, with room for its legend."""
    drawn = chart.properties(width=_WIDTH).configure(background="white")
    if form == "svg":
        text = StringIO()
        drawn.save(text, format="svg")
        return text.getvalue().encode("utf-8")
    file = BytesIO()
    drawn.save(file, format="png", scale_factor=_SCALE)
    return file.getvalue()
