"""The plain table of the screen."""

from datetime import date

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.cli.table import cells, lay_out


def laid(frame, width=None):
    lines, notes = lay_out(frame, width=width)
    return "".join(lines).splitlines(), notes


def test_numbers_stand_right_rounded_and_unknown_is_empty():
    lines, notes = laid(
        pl.DataFrame(
            {
                "unit": ["TL-1", "Brotbäcker"],
                "age": [12.345678, None],
                "n": [3, 12],
                "on": [date(2026, 5, 1), None],
                "ok": [True, False],
            }
        )
    )
    assert lines == [
        "unit          age   n  on          ok",
        "----------  -----  --  ----------  ---",
        "TL-1        12.35   3  2026-05-01  yes",
        "Brotbäcker         12              no",
    ]
    assert notes == []


@pytest.mark.parametrize(
    ("value", "shown"),
    [(0.0, "0"), (3.0, "3"), (123456.7, "123457"), (0.00012346, "0.0001235"), (-2.5, "-2.5")],
)
def test_rounding(value, shown):
    assert laid(pl.DataFrame({"x": [value]}))[0][-1].strip() == shown


def test_infinity_and_nan_are_never_shown():
    lines, _ = laid(pl.DataFrame({"x": [float("inf"), float("nan"), 1.0]}))
    assert [line.strip() for line in lines[2:]] == ["", "", "1"]


def test_wide_letters_are_counted_as_two():
    assert cells("東京x") == 5
    lines, _ = laid(pl.DataFrame({"place": ["東京x", "abcdef"], "n": [1, 2]}))
    assert cells(lines[2]) == cells(lines[3])


def test_control_characters_cannot_drive_the_terminal():
    lines, _ = laid(pl.DataFrame({"t": ["a\x1b[31mb\nc\x07\u202ed"]}))
    assert lines[-1] == "a [31mb c d"


def test_last_column_is_wrapped_in_a_terminal():
    frame = pl.DataFrame({"unit": ["TL-1"], "reason": ["too few failures to say anything yet"]})
    lines, notes = laid(frame, width=32)
    assert lines[2:] == ["TL-1  too few failures to say", "      anything yet"]
    assert notes == []


def test_columns_that_do_not_fit_are_named():
    frame = pl.DataFrame({name: ["x" * 12] for name in ("unit", "a", "b", "reason")})
    lines, notes = laid(frame, width=42)
    assert lines[0].split() == ["unit", "a", "reason"]
    assert notes == ["Not shown for want of width: b; --csv and --json print all."]


def test_long_text_is_shortened_and_said_so():
    lines, notes = laid(pl.DataFrame({"t": ["z" * 10_000]}))
    assert "(10000 characters)" in lines[-1]
    assert len(notes) == 1


@given(
    st.lists(st.tuples(st.text(max_size=20), st.floats(), st.text(max_size=60)), max_size=20),
    st.integers(min_value=30, max_value=120),
)
def test_no_line_is_wider_than_the_terminal(rows, width):
    frame = pl.DataFrame(
        rows, schema={"a": pl.String, "x": pl.Float64, "words": pl.String}, orient="row"
    )
    lines, _ = laid(frame, width)
    assert all(cells(line) <= width for line in lines)
