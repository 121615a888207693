"""fleet due --new-parts with a life of what goes in."""

import pytest

DAY = ("--as-of", "2024-06-30")


def _ages(done):
    return {row["unit"]: row["optimal_age"] for row in done.rows()}


def test_years_move_the_dates_and_are_said(club):
    short, long = (club("due", "--new-parts", years, "--json", *DAY) for years in ("8", "40"))
    ages = [(_ages(short)[unit], age) for unit, age in _ages(long).items()]
    both = [pair for pair in ages if None not in pair]
    assert both
    assert all(long_lived < short_lived for short_lived, long_lived in both)
    assert "a typical life (Weibull scale) of 40 years" in long.err
    assert "an upper estimate, not a promise" in long.err


def test_a_part_of_the_offers_is_reckoned_by_the_site(club):
    club(
        "add", "offer", "KR-470", "--temperature", "105", "--rated-hours", "2000",
        "--entered-on", "2024-01-02",
    )  # fmt: skip
    done = club("due", "--new-parts", "KR-470@85", "--json", *DAY)
    assert done.rows()
    # no machine of the club says its hours: powered all the time, 8,000 h are 0.913 years
    assert "of 0.913 years for each set" in done.err
    assert "8,760 hours a year where blank" in done.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--new-parts", "better"), "typical, same, a number of years, or a part"),
        (("--new-parts", "500"), "from 0.5 to 100"),
        (("--new-parts", "15", "--estimate", "both"), "goes with the posterior alone"),
    ],
)
def test_what_cannot_be_is_one_sentence(club, words, said):
    done = club("due", *words, *DAY)
    assert (done.code, said in done.err, done.out) == (1, True, "")
