"""The group report as one self-contained HTML page, to be printed or sent."""

from base64 import b64encode
from collections.abc import Mapping
from pathlib import Path

from fleet.flow.group_report import GroupReport

_TEMPLATES = Path(__file__).parent / "templates"
_ALT = {
    "due": "Machines past their date, and those due in each quarter, by what to do; the list "
    "beside it has the dates.",
    "expected": "Machines expected to fail in each quarter, with limits; the table has the "
    "numbers.",
    "curves": "Share of sets not yet failed by age for the models with most failures, with "
    "limits; the table has the numbers.",
}


def group_report_page(report: GroupReport, pictures: Mapping[str, bytes]) -> str:
    """The report as HTML; everything it needs is in it, and nothing is fetched from anywhere.

    `pictures`: SVG by the names that the parts use; a part whose picture is not there goes without.
    Every text is escaped; a picture is an image, so that nothing in it can act or clash.
    """
    import jinja2

    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    images = {
        name: f"data:image/svg+xml;base64,{b64encode(svg).decode('ascii')}"
        for name, svg in pictures.items()
    }
    return made.get_template("group_report.html").render(report=report, images=images, alt=_ALT)


def file_name(report: GroupReport) -> str:
    """A name for the file, with its day."""
    return f"group-report-{report.as_of.isoformat()}.html"
