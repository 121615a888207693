"""Whether the Weibull fits, for a whole table, with its sentences."""

import numpy as np
import polars as pl
import pytest

from fleet.errors import BadInput
from fleet.flow.fit_check import P_VALUE_OF, check_fit
from fleet.flow.fit_check_words import check_words, fleets_words
from fleet.flow.table import Table
from fleet.flow.weibull_paper import paper
from fleet.frames import LIFE


def table(**groups):
    """A life table file with a group column `kind` from lists of (low, failed)."""
    parts = []
    for name, rows in groups.items():
        filled = [(0.0, low, low if failed else None, None, 1.0) for low, failed in rows]
        parts.append(
            pl.DataFrame(filled, schema=LIFE, orient="row").with_columns(kind=pl.lit(name))
        )
    return Table(lives=pl.concat(parts))


def even(shape, scale, size, upto):
    """Ages at even steps of a Weibull, watched up to an age."""
    ages = scale * (-np.log(1 - (np.arange(1, size + 1) - 0.5) / size)) ** (1 / shape)
    return [(float(min(a, upto)), bool(a <= upto)) for a in ages]


@pytest.fixture(scope="module")
def answer():
    limited = [*even(3.0, 2.0, 40, 30.0), *[(30.0, False)] * 60]
    mixed = [*even(3.0, 1.0, 20, 99.0), *even(6.0, 30.0, 40, 99.0)]
    return check_fit(
        table(
            few=even(2.0, 5.0, 4, 99.0),
            good=even(2.5, 10.0, 60, 12.0),
            limited=limited,
            mixed=mixed,
        ),
        by=["kind"],
        draws=199,
    )


def row(answer, kind, distribution):
    return answer.frame.filter(kind=kind, distribution=distribution).row(0, named=True)


def said(answer, kind):
    return next(note for note in answer.notes if note.startswith(f"{kind}: "))


def test_one_row_a_distribution(answer):
    counts = dict(answer.frame.group_by("kind").len().iter_rows())
    # mixtures are tried only where the Weibull is in doubt
    assert counts == {"few": 4, "good": 4, "limited": 6, "mixed": 6}
    told = answer.frame.filter(pl.col("p_value").is_not_null())
    assert set(told["p_value_of"]) == set(P_VALUE_OF.values())
    assert answer.frame.filter(pl.col("p_value").is_null())["p_value_of"].null_count() == (
        answer.frame["p_value"].null_count()
    )


def test_few_failures_say_nothing(answer):
    assert row(answer, "few", "weibull")["p_value"] is None
    assert "too few to tell" in said(answer, "few")


def test_a_weibull_is_left_in_peace(answer):
    assert row(answer, "good", "weibull")["p_value"] > 0.5
    assert row(answer, "good", "weibull")["departure"] < 1.0
    words = said(answer, "good")
    assert "Nothing speaks against the Weibull" in words
    assert "can fail" not in words


def test_a_bad_batch_is_named_with_its_share_and_what_it_changes(answer):
    found = row(answer, "limited", "limited_failure")
    assert found["share_that_can_fail"] == pytest.approx(0.4, abs=0.01)
    # 40 of 100 seen, all long before the end: the limits are those of a binomial share
    assert found["share_low"] == pytest.approx(0.3076, abs=0.002)
    assert found["share_high"] == pytest.approx(0.4974, abs=0.002)
    assert found["p_value"] < 0.01
    words = said(answer, "limited")
    assert "only about 40 % of them" in words
    assert "The Weibull does not fit well" in words
    assert "one in ten has failed by" in words


def test_a_mixture_is_named(answer):
    words = said(answer, "mixed")
    assert "in fewer than 1 of 100 such fleets" in words or "in about 1 of 100" in words
    assert "clearly better" in words
    best = answer.frame.filter(kind="mixed").sort("aic_few", nulls_last=True).row(0, named=True)
    assert best["distribution"] in ("two_causes", "two_kinds")


def test_no_infinity_or_nan_is_said(answer):
    assert not any(w in f" {note} " for note in answer.notes for w in (" inf ", " nan ", "None"))


def test_unit_of_age_is_said():
    lives = table(a=even(2.5, 10.0, 60, 12.0))
    years = Table(lives=lives.lives, age_unit="years")
    (note,) = check_fit(years, by=["kind"], draws=49).notes
    assert "years" in note


def test_many_groups_are_told_in_part():
    many = {f"k{i}": even(2.0, 5.0, 4, 99.0) for i in range(8)}
    notes = check_fit(table(**many), by=["kind"]).notes
    assert len(notes) == 6
    assert notes[-1].startswith("3 more groups")


def test_no_lives_no_rows():
    empty = Table(lives=table(a=[(1.0, True)]).lives.clear())
    assert check_fit(empty, by=["kind"]).frame.is_empty()


def test_unknown_group_column():
    with pytest.raises(BadInput, match="no column shop"):
        check_fit(table(a=[(1.0, True)]), by=["shop"])


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.002, "in fewer than 1 of 100 such fleets"),
        (0.03, "in about 3 of 100 such fleets"),
        (0.412, "in about 41 of 100 such fleets"),
    ],
)
def test_chances_as_fleets(chance, words):
    assert fleets_words(chance) == words


def made(name, **values):
    base = dict.fromkeys(
        ("reason", "b10", "aic_few", "p_value", "share_that_can_fail", "share_low", "share_high")
    )
    return {"distribution": name, "failures": 12.0, "exists": True, **base, **values}


def test_few_failures_need_a_wide_gap_and_no_share_on_noise():
    rows = [
        made("weibull", aic_few=100.0, b10=4.0, p_value=0.4, at_age=1.0, excess=1.0),
        made("lognormal", aic_few=104.0, b10=4.5),
        made("limited_failure", aic_few=99.0, p_value=0.04, share_high=0.9, share_low=0.2),
    ]
    words = check_words(rows)
    assert "too few failures to tell apart the Weibull and the lognormal" in words
    assert "4 (the Weibull) or 4.5 (the lognormal) years" in words
    assert "a hint that only a share" in words
    clear = [rows[0], made("lognormal", aic_few=106.5, b10=4.5)]
    assert "The Weibull describes them clearly better than the lognormal" in check_words(clear)
    assert "odds of about 26 to 1" in check_words(clear)


def test_paper_of_a_table():
    drawn = paper(table(a=even(2.5, 10.0, 60, 12.0), b=even(1.0, 5.0, 20, 4.0)), by=["kind"])
    assert drawn.points["kind"].unique(maintain_order=True).to_list() == ["a", "b"]
    assert drawn.line["kind"].unique(maintain_order=True).to_list() == ["a", "b"]
    with pytest.raises(BadInput, match="no column shop"):
        paper(table(a=[(1.0, True)]), by=["shop"])


def test_a_share_is_not_claimed_where_a_lognormal_does_as_well():
    shares = {"share_that_can_fail": 0.9, "share_low": 0.7, "share_high": 0.99}
    rows = [
        made("weibull", aic_few=110.0, b10=4.0, p_value=0.004, at_age=1.0, excess=1.0),
        made("lognormal", aic_few=101.0, b10=4.5),
        made("limited_failure", aic_few=100.0, b10=5.0, p_value=0.001, **shares),
    ]
    assert "these lives do not tell which" in check_words(rows)
    rows[1] = made("lognormal", aic_few=109.0, b10=4.5)
    assert "only about 90 % of them (70 to 99 %) can fail at all" in check_words(rows)
