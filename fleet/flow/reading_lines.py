"""A sheet of readings typed or pasted as text: one line a position, or a table with a header."""

import csv
import io
import re
from collections.abc import Iterator, Mapping

from fleet.errors import BadInput
from fleet.frames import KINDS

STAGES = ("before", "after", "check")
EXAMPLE = "C1 before 12.1/0.02V 4.1ohm after 12.3/0.01V 0.2ohm 470uF"
_OWN = frozenset({"unit", "date"})  # what the report says for all of them
_COLUMNS = tuple(c.name for c in KINDS["readings"].columns if c.name not in _OWN)
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)"
_VOLTS = re.compile(rf"({_NUMBER})/({_NUMBER})V?", re.IGNORECASE)
_ONE_END = re.compile(rf"({_NUMBER})V", re.IGNORECASE)
_OHMS = re.compile(rf"({_NUMBER})(?:([mk]?)(?:ohms?|R)|(k))", re.IGNORECASE)
_TIMES = {"": 1.0, "m": 0.001, "k": 1000.0}
# The letter in the place of the decimal mark, as on resistors: 4R7, R47, 1k8 (IEC 60062).
_OHMS_R = re.compile(r"(\d*)R(\d+)|(\d+)k(\d+)", re.IGNORECASE)
_MILLI = re.compile(rf"{_NUMBER}m")
_MOST_BARE = 100.0  # ohms: a larger number without a unit is more likely a capacitance
_NOT_FILLED = re.compile(
    r"[._\u2026/]*(?:[._\u2026]{2,}|[_\u2026])[._\u2026/]*(?:V|m?ohms?|R|[pnum]F)?", re.I
)
# Units that a blank may part from their number; which are read is for fleet.capacitors to say.
_FARADS = r"[pnu]|[pnum]F|(?:uu|[mu]{1,2})fds?|(?:pico|nano|milli|micro(?:-?micro)?)-?farads?"
_CIRCUIT = {"in": "yes", "in-circuit": "yes", "out": "no", "out-of-circuit": "no"}
# A blank before a unit belongs to the number before it.
_APART = re.compile(rf"(?<=\d)\s+(?=(?:V|[mk]?ohms?|R|k|{_FARADS})(?:[\s,;]|$))", re.IGNORECASE)


def read_reading_lines(text: str) -> list[dict[str, str]]:
    """Readings as columns of the kind readings and their text, in the order of the lines.

    A line is a position and what was measured there: `before`, `after` or `check`, then volts at
    the positive and the negative end (`12.1/0.02V`), ohms (`0.4ohm`, `40mohm`, `.4R`, `4R7`, `1k8`,
    or up to 100 without a unit: volts come in pairs, capacitance with its letter), capacitance
    (`470uF`, `22u`, `4u7`, any spelling that fleet.capacitors reads), `in` or `out` (of the
    circuit), or `column=value`; a further stage may follow on the same line. Blank lines, lines
    that begin with # and stages with nothing measured are passed over. A first
    line that is a header with `position` makes it a table (comma, semicolon or tab).

    Raises BadInput with the line's number for what is not read.
    """
    lines = text.lstrip("\ufeff").splitlines()
    told = [(n, line) for n, line in enumerate(lines, 1) if line.strip() and line.strip()[0] != "#"]
    if not told:
        return []
    separator = _table_separator(told[0][1])
    if separator:
        return list(_table(told, separator))
    return [reading for number, line in told for reading in _line(number, line)]


def is_reading_line(text: str) -> bool:
    """Whether a text is a line of the short form: a position and a stage with blanks between."""
    words = text.split()
    return len(words) > 1 and words[1].lower() in STAGES and not re.search("[,=]", words[0])


def blank_lines(positions: list[str]) -> str:
    """A line for each position, to be filled in."""
    return "\n".join(f"{position} before  after " for position in positions)


def _table_separator(header: str) -> str | None:
    for separator in ("\t", ";", ","):
        if "position" in [name.strip().lower() for name in header.split(separator)]:
            return separator if separator in header else None
    return None


def _table(told: list[tuple[int, str]], separator: str) -> Iterator[dict[str, str]]:
    names = [n.strip().lower() for n in next(csv.reader([told[0][1]], delimiter=separator))]
    for name in names:
        if name not in _COLUMNS:
            have = ", ".join(_COLUMNS)
            raise BadInput(f"line {told[0][0]}: readings have no column {name}; they have {have}")
    for number, line in told[1:]:
        cells = next(csv.reader(io.StringIO(line), delimiter=separator))
        if len(cells) > len(names):
            raise BadInput(f"line {number} has more cells than the header; correct one of them")
        row = {name: cell.strip() for name, cell in zip(names, cells, strict=False) if cell.strip()}
        if "position" not in row:
            raise BadInput(f"line {number} names no position; write which place was measured")
        if len(row) > 1 + ("stage" in row):  # something was measured
            yield row


def _line(number: int, line: str) -> Iterator[dict[str, str]]:
    plain = re.sub("[\u03a9\u2126]", "ohm", re.sub("[\u00b5\u03bc]", "u", line))
    plain = _APART.sub("", plain)
    position, *words = [w for w in map(_trimmed, plain.split()) if w]
    stage, found = "", dict[str, str]()
    for word in [*words, ""]:
        if word.lower() in STAGES or not word:
            if found:
                yield _finished(number, position, stage, found)
            stage, found = word.lower(), {}
            continue
        for column, value in _measured(number, word).items():
            if column in found:
                raise BadInput(f"line {number} gives {column} twice; write one, or another stage")
            found[column] = value


def _finished(number: int, position: str, stage: str, found: Mapping[str, str]) -> dict[str, str]:
    if not stage:
        raise BadInput(
            f"line {number} does not say when {position} was measured; write before, after or "
            f"check, like {EXAMPLE}"
        )
    return {"position": position, "stage": stage, **found}


def _measured(number: int, word: str) -> dict[str, str]:
    """One word of a line as columns."""
    if "=" in word:
        column, _, value = word.partition("=")
        if column not in _COLUMNS or not value:
            raise BadInput(
                f"line {number}: {word!r} is no column of readings; they have {', '.join(_COLUMNS)}"
            )
        return {column: value}
    if match := _VOLTS.fullmatch(word):
        return {"volts_positive": _plain(match[1]), "volts_negative": _plain(match[2])}
    if match := _ONE_END.fullmatch(word):
        return {"volts_positive": _plain(match[1])}
    if (ohms := _ohms(word)) is not None:
        return {"esr_ohm": ohms}
    if _is_capacitance(word):
        return {"capacitance": word.replace(",", ".")}
    if word.lower() in _CIRCUIT:
        return {"in_circuit": _CIRCUIT[word.lower()]}
    if _NOT_FILLED.fullmatch(word):
        raise BadInput(
            f"line {number}: {word!r} was not filled in; write what was read, or strike it"
        )
    if _MILLI.fullmatch(word):
        raise BadInput(
            f"line {number}: {word!r} may be ohms or farads; write {word}ohm, or {word}F"
        )
    raise BadInput(f"line {number}: {word!r} is not read as a reading; write lines like {EXAMPLE}")


def _ohms(word: str) -> str | None:
    if match := _OHMS.fullmatch(word):
        times = (match[2] or match[3] or "").lower()
        return _scaled(_plain(match[1]), times)
    if match := _OHMS_R.fullmatch(word):
        whole, part = match[1] or match[3] or 0, match[2] or match[4]
        return _scaled(f"{whole}.{part}", "k" if match[3] else "")
    bare = re.fullmatch(_NUMBER, word) and 0.0 <= float(_plain(word)) <= _MOST_BARE
    return _plain(word) if bare else None


def _scaled(ohms: str, times: str) -> str:
    return f"{float(ohms) * _TIMES[times]:.6g}" if times else ohms


def _is_capacitance(word: str) -> bool:
    from fleet.capacitors.values import read_farads

    return word[:1] in "0123456789.,nup" and read_farads(word) is not None


def _trimmed(word: str) -> str:
    """A word without the marks around it; a comma before digits is a decimal comma (`,4R`)."""
    cut = word.rstrip(",;:").lstrip(";:")
    return cut if re.match(r",\d", cut) else cut.lstrip(",")


def _plain(number: str) -> str:
    plain = number.replace(",", ".").lstrip("+")
    return re.sub(r"^(-?)\.", r"\g<1>0.", plain)
