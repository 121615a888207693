"""The bench sheet as one self-contained HTML page, to print on A4 or Letter and to write on."""

import re
from pathlib import Path
from typing import TYPE_CHECKING

from fleet.flow import bench_words
from fleet.flow.bench_facts import BenchSheet
from fleet.flow.bench_log_line import HINTS, READINGS_FILE
from fleet.flow.bench_say import amount, plain_number, wait_said
from fleet.flow.bench_symptoms import SYMPTOMS
from fleet.flow.read_aloud import number

if TYPE_CHECKING:
    import jinja2

_TEMPLATES = Path(__file__).parent / "templates"
_SETS_OF_WORDS = (
    bench_words.WHO_MAY,
    bench_words.MAKING_SAFE,
    bench_words.RESISTOR,
    bench_words.HAZARDS,
    bench_words.PHOTOGRAPHS,
    bench_words.OPENING,
    bench_words.TAKING_OUT,
    (bench_words.ESR_LIMITS,),
    bench_words.WHILE_OPEN,
    bench_words.BEFORE_POWER,
    bench_words.SAFETY_BEFORE,
    bench_words.FIRST_POWER,
    bench_words.AFTERWARDS,
    bench_words.TESTS_AFTER,
)


def bench_sheet_page(sheet: BenchSheet) -> str:
    """The sheet as HTML; everything it needs is in it, and nothing is fetched from anywhere."""
    template = _environment().get_template("bench_sheet.html")
    return template.render(
        sheet=sheet,
        words=bench_words,
        symptoms=SYMPTOMS,
        marks=_marks(),
        hints=HINTS,
        readings_file=READINGS_FILE,
    )


def file_name(unit_or_model: str) -> str:
    """A name for the file: sheet-UNIT.html, signs that a file name cannot hold left out."""
    name = re.sub(r"[^\w.-]+", "_", unit_or_model).strip("._") or "unit"
    return f"sheet-{name}.html"


def _marks() -> dict[str, str]:
    """A letter for each source that sentences of the sheet name, in the order they come."""
    named = (said.source for words in _SETS_OF_WORDS for said in words)
    sources = dict.fromkeys(one for one in named if one != bench_words.PRACTICE)
    return {source: chr(ord("a") + place) for place, source in enumerate(sources)}


def _environment() -> "jinja2.Environment":
    import jinja2

    made = jinja2.Environment(
        loader=jinja2.FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {"number": number, "plain": plain_number, "amount": amount, "wait": wait_said}
    return made
