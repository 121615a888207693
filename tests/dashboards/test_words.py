from datetime import date

import curve_view
import pytest
import words

from fleet.frames import KINDS
from fleet.frames.kinds import BECAUSE, REPORT_KINDS


@pytest.mark.parametrize(
    ("earliest", "latest", "said"),
    [
        (date(2024, 7, 14), date(2024, 7, 14), "14 July 2024"),
        (date(2024, 7, 1), date(2024, 7, 31), "1 to 31 July 2024"),
        (date(2024, 6, 1), date(2024, 8, 31), "1 June to 31 August 2024"),
        (date(2022, 1, 1), date(2024, 12, 31), "1 January 2022 to 31 December 2024"),
        (None, date(2003, 12, 31), "any day up to 31 December 2003"),
        (date(2003, 1, 1), None, "any day from 1 January 2003 on"),
        (None, None, "any day at all"),
    ],
)
def test_what_a_date_can_mean_is_said_in_days(earliest, latest, said):
    assert words.day_range(earliest, latest) == said


def test_every_kind_of_report_has_words_and_fields():
    assert set(words.KINDS) == set(words.FIELDS) == set(REPORT_KINDS)


def test_fields_asked_for_are_columns_of_a_report():
    columns = {column.name for column in KINDS["reports"].columns}
    assert {field for fields in words.FIELDS.values() for field in fields} <= columns


def test_every_reason_for_a_recap_can_be_chosen():
    assert set(words.BECAUSE) == {"", *BECAUSE}


def test_counted():
    assert words.counted(1, "unit") == "1 unit"
    assert words.counted(12_000, "unit is", "units are") == "12,000 units are"


def test_sentences_lose_the_names_of_columns_and_options():
    assert words.plain("p_value is rough, p_permuted is not") == (
        "the plain chance is rough, the chance by dealing out anew is not"
    )
    assert words.plain("ambient_c is the same for every life") == (
        "room temperature is the same for every life"
    )


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.5, "50"), (0.0345, "3.45"), (0.0, "under 0.1"), (1.0, "over 99.9"), (None, "none")],
)
def test_shares_are_never_certain(share, said):
    assert curve_view.per_cent(share) == said


def test_text_of_records_means_nothing_to_markdown():
    assert words.escaped("batch: blank, 20 % (S-010)") == "batch: blank, 20 % (S-010)"
    assert words.escaped("*x* [a](b) :red[c]\n$1$") == r"\*x\* \[a\](b) \:red\[c\] \$1\$"
