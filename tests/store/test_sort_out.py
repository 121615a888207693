"""The rules for arriving records, first by hand, then on made-up mixtures."""

import polars as pl
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fleet.store.judging import HELD, INCOMING
from fleet.store.sort_out import sort_out


def unit(record, supersedes=None, content="c", kind="units"):
    return (kind, record, content, supersedes, None, None)


def back(record, withdraws, kind="units"):
    return ("withdrawn", record, f"{kind} {withdraws}", None, withdraws, kind)


def held(record, supersedes=None, content="c", withdrawn_by=None, kind="units"):
    return (kind, record, content, supersedes, withdrawn_by)


def judge(incoming, stored=()):
    return sort_out(
        pl.DataFrame(incoming, INCOMING, orient="row"), pl.DataFrame(stored, HELD, orient="row")
    )


def verdicts(incoming, stored=()):
    return judge(incoming, stored)["verdict"].to_list()


def reason(incoming, stored=()):
    judged = judge(incoming, stored).filter(pl.col("verdict") == "rejected")
    assert judged.height == 1, judged
    return judged["reason"][0]


def test_a_chain_of_corrections_in_any_order():
    chain = [unit("a"), unit("b", "a"), unit("c", "b")]
    for order in ([0, 1, 2], [2, 1, 0], [1, 2, 0]):
        assert verdicts([chain[i] for i in order]) == ["kept"] * 3
    assert verdicts([unit("c", "b")], [held("a"), held("b", "a")]) == ["kept"]


@pytest.mark.parametrize(
    ("incoming", "stored", "sentence"),
    [
        ([unit("b", "a")], [], "corrects a, which the store does not have"),
        (
            [unit("b", "a")],
            [held("a", kind="reports")],
            "corrects a, which is among the reports; a record corrects one of its own kind",
        ),
        ([unit("c", "a")], [held("a"), held("b", "a")], "corrects a, which b corrects already"),
        ([unit("a"), unit("b", "a"), unit("c", "a")], [], "corrects a, which b corrects already"),
        ([unit("b", "a")], [held("a", withdrawn_by="w")], "corrects a, which was taken back"),
        ([unit("a", "a")], [], "corrects a, which is itself"),
        ([back("w", "a")], [], "takes back a, which the store does not have"),
        ([back("w", "a", "reports")], [held("a")], "takes back a as of another kind"),
        (
            [back("w", "v", "withdrawn")],
            [held("v", kind="withdrawn")],
            "takes back v, itself a taking back",
        ),
        ([back("w", "a")], [held("a"), held("b", "a")], "a is corrected by b; take that back"),
    ],
)
def test_what_cannot_be_taken(incoming, stored, sentence):
    assert sentence in reason(incoming, stored)


def test_a_circle_is_refused_with_what_hangs_on_it():
    rows = [unit("a", "b"), unit("b", "a"), unit("c"), unit("d", "c")]
    assert verdicts(rows) == ["rejected", "rejected", "kept", "kept"]


def test_a_refusal_takes_what_rests_on_it_along():
    rows = [unit("c", "b"), unit("b", "a"), unit("a", "none"), back("w", "c")]
    assert verdicts(rows) == ["rejected"] * 4


def test_a_correction_of_a_correction_that_was_taken_back():
    """a, corrected by b, b taken back, a corrected by c: all at once, in any order."""
    rows = [unit("c", "a"), back("w", "b"), unit("b", "a"), unit("a")]
    assert verdicts(rows) == ["kept"] * 4
    assert verdicts(rows[::-1]) == ["kept"] * 4


def test_taken_back_and_entered_again():
    gone = [held("a", withdrawn_by="w"), held("w", kind="withdrawn", content="units a")]
    again = judge([unit("a")], gone)
    assert again.rows() == [("kept", None, "a~2")]
    stands = [*gone, held("a~2")]
    assert verdicts([unit("a")], stands) == ["already_known"]
    assert "the store has a~2 already" in reason([unit("a", content="other")], stands)
    twice = [*gone, held("a~2", withdrawn_by="w2")]
    assert judge([unit("a")], twice)["record"].to_list() == ["a~3"]
    assert judge([unit("a~2")], twice)["record"].to_list() == ["a~3"]


def test_the_whole_history_of_a_store_into_itself_and_into_a_new_one():
    """a and its correction b were taken back and came again."""
    rows = [
        unit("a"), unit("b", "a"), back("w1", "a"), back("w2", "b"), unit("a~2"), unit("b~2", "a"),
    ]  # fmt: skip
    assert verdicts(rows) == ["kept"] * 6
    stored = [
        held("a", withdrawn_by="w1"),
        held("b", "a", withdrawn_by="w2"),
        held("w1", kind="withdrawn", content="units a"),
        held("w2", kind="withdrawn", content="units b"),
        held("a~2"),
        held("b~2", "a"),
    ]
    assert verdicts(rows, stored) == ["already_known"] * 6
    # Without the rows that say so, the correction still goes to the entry that stands.
    assert "which b~2 corrects already" in reason([unit("d", "a")], stored)


def test_taking_back_twice_is_known():
    gone = [held("a", withdrawn_by="w"), held("w", kind="withdrawn", content="units a")]
    assert verdicts([back("w", "a")], gone) == ["already_known"]
    assert verdicts([back("other", "a")], gone) == ["already_known"]
    assert verdicts([unit("a"), back("w", "a"), back("v", "a")]) == [
        "kept",
        "kept",
        "already_known",
    ]


def test_a_taking_back_whose_id_is_another_row_s_takes_nothing_back():
    rows = [unit("a"), back("w", "b"), unit("b"), unit("a~2"), back("w", "a")]
    judged = judge(rows)
    assert judged["verdict"].to_list() == ["kept", "kept", "kept", "already_known", "rejected"]
    assert "another row" in judged["reason"][4]
    others = [held("w", kind="withdrawn", content="units z", withdrawn_by=None)]
    assert judge([unit("a"), unit("a~2"), back("w", "a")], others)["verdict"].to_list() == [
        "kept", "already_known", "rejected",
    ]  # fmt: skip


def test_an_id_of_another_entry_than_the_one_that_stands():
    assert "the store has a already" in reason([unit("a~2", content="x")], [held("a")])
    assert verdicts([unit("a~2")], [held("a")]) == ["already_known"]


IDS = st.sampled_from(["a", "b", "c", "d", "a~2"])
UNITS = st.builds(unit, IDS, st.none() | IDS, st.sampled_from(["c", "k"]))
BACKS = st.builds(back, st.sampled_from(["v", "w", "x"]), IDS)


def _root(record):
    return record.split("~")[0]


@given(st.lists(UNITS | BACKS, max_size=9))
def test_whatever_comes_the_rules_hold_afterwards(incoming):
    """Checked with plain sets on the rows kept, in an empty store."""
    judged = judge(incoming).rows()
    kept = [(row, record) for row, (v, _, record) in zip(incoming, judged, strict=True)
            if v == "kept"]  # fmt: skip
    assert all((v == "rejected") == (r is not None) for v, r, _ in judged)
    ids = [record for _, record in kept]
    assert len(ids) == len(set(ids))
    gone = {row[4] for row, _ in kept if row[0] == "withdrawn"}
    assert gone <= set(ids)
    standing = [(row, record) for row, record in kept
                if row[0] == "units" and record not in gone]  # fmt: skip
    roots = [_root(record) for _, record in standing]
    assert len(roots) == len(set(roots))
    corrected = [_root(row[3]) for row, _ in standing if row[3] is not None]
    assert len(corrected) == len(set(corrected))
    assert set(corrected) <= set(roots)
    step = {_root(record): _root(row[3]) for row, record in standing if row[3] is not None}
    for start in step:
        seen = start
        for _ in step:
            seen = step.get(seen)
        assert seen is None or seen not in step


@given(st.lists(UNITS | BACKS, max_size=8))
def test_the_same_again_brings_nothing_new(incoming):
    """What was kept, put into a store, is known when it comes again together."""
    judged = judge(incoming).rows()
    kept = [(row, record) for row, (v, _, record) in zip(incoming, judged, strict=True)
            if v == "kept"]  # fmt: skip
    gone = {row[4]: record for row, record in kept if row[0] == "withdrawn"}
    stored = [(row[0], record, row[2], row[3], gone.get(record)) for row, record in kept]
    assert set(verdicts([row for row, _ in kept], stored)) <= {"already_known"}
