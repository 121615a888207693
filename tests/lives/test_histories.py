"""What holds for every history: random small ones."""

from datetime import date, timedelta

import polars as pl
from hypothesis import given
from hypothesis import strategies as st
from polars.testing import assert_frame_equal

from fleet.frames import LEFT_OUT, LIVES, WORKING, check_frame
from fleet.lives import build_lives

FIRST = date(2000, 1, 1)
days = st.integers(0, 3000).map(lambda n: FIRST + timedelta(days=n))
dates = st.one_of(days.map(str), days.map(lambda d: str(d)[:7]), days.map(lambda d: str(d)[:4]))
blank = st.none()
reports = st.fixed_dictionaries(
    {
        "unit": st.sampled_from(["a", "b", "c"]),
        "date": dates,
        "kind": st.sampled_from(
            ["working", "failed", "failed", "recapped", "recapped", "repaired",
             "board_swapped", "stored", "note"]
        ),
        "cause": st.sampled_from([None, "capacitor", "capacitor", "other", "unknown"]),
        "because": st.sampled_from([None, "planned", "failure", "reading"]),
        "positions": st.sampled_from([None, "all", "C1", "C2", "C1;C2"]),
        "found_dead": st.sampled_from([None, None, True]),
        "last_known_working": st.one_of(blank, blank, blank, dates),
        "entered_on": st.one_of(blank, days.map(str)),
        "batch": st.sampled_from([None, None, "B1", "C1:B1;C2:B2"]),
        "cured": st.sampled_from([None, None, True, False]),
    }
)  # fmt: skip
units = st.fixed_dictionaries(
    {
        "manufactured": st.sampled_from([None, "1999", "1999", "2000-01-01", "1998-05"]),
        "enrolled_on": st.one_of(blank, dates),
        "because": st.sampled_from(["working", "working", "failed", None]),
        "source": st.sampled_from([None, "S"]),
        "batch": st.sampled_from([None, "B1"]),
    }
)
options = st.fixed_dictionaries(
    {
        "unknown_cause": st.sampled_from(["share", "capacitor", "other"]),
        "degraded_as": st.sampled_from(["censored", "failed"]),
        "by_position": st.booleans(),
    }
)
histories = st.tuples(st.lists(units, min_size=3, max_size=3), st.lists(reports, max_size=12))
SAME = ("lives", "working", "left_out", "shares")


def write(new_book, history):
    book = new_book()
    book.add("sources", source="S", collecting_since="2002", data_cutoff="2007-01-01")
    for name, unit in zip("abc", history[0], strict=True):
        book.unit(name, **unit)
    for report in history[1]:
        row = dict(report)
        if row["kind"] != "failed":
            row["cause"] = None
        book.report(row.pop("date"), row.pop("kind"), **row)
    return book


@given(history=histories, how=options)
def test_rows_keep_the_contract(new_book, history, how):
    table = write(new_book, history).build(date(2009, 1, 1), **how)
    check_frame(table.lives, LIVES, name="lives")
    check_frame(table.working, WORKING, name="working")
    check_frame(table.left_out, LEFT_OUT, name="left out")
    lives = table.lives
    for column in ("entry", "low", "count", "unit", "model", "set_no", "parts", "end"):
        assert lives[column].null_count() == 0
    assert (lives["entry"] >= 0).all()
    assert (lives["low"] >= lives["entry"]).all()
    failed = lives.filter(pl.col("high").is_not_null())
    assert (failed["high"] >= failed["low"]).all()
    assert (failed["high"] > failed["entry"]).all()
    assert (failed["known_by"].drop_nulls() >= failed.drop_nulls("known_by")["high"]).all()
    assert set(failed["end"]) <= {"failed"}
    still = lives.filter(pl.col("high").is_null())
    assert still["known_by"].null_count() == still.height
    assert "failed" not in set(still["end"])
    assert ((lives["count"] > 0) & (lives["count"] <= 1)).all()
    total = lives.group_by("unit", "set_no", "position").agg(pl.col("count").sum())
    assert (total["count"] <= 1 + 1e-12).all()
    assert table.working["unit"].is_unique().all()
    assert table.left_out["reason"].null_count() == 0


@given(history=histories, how=options, order=st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(new_book, history, how, order):
    records = write(new_book, history).records()
    shuffled = {}
    for kind, frame in records.items():
        places = list(range(frame.height))
        order.shuffle(places)
        shuffled[kind] = frame[places] if places else frame
    one = build_lives(records, as_of=date(2009, 1, 1), **how)
    other = build_lives(shuffled, as_of=date(2009, 1, 1), **how)
    for name in SAME:
        assert_frame_equal(getattr(one, name), getattr(other, name))
    assert one.notes == other.notes


@given(history=histories, how=options, as_of=days)
def test_an_earlier_date_gives_what_was_known_then(new_book, history, how, as_of):
    records = write(new_book, history).records()
    then = dict(records)
    then["reports"] = records["reports"].filter(
        pl.col("date_latest") <= as_of,
        pl.col("entered_on").is_null() | (pl.col("entered_on") <= as_of),
    )
    then["units"] = records["units"].filter(
        pl.col("enrolled_on_latest").is_null() | (pl.col("enrolled_on_latest") <= as_of)
    )
    one = build_lives(records, as_of=as_of, **how)
    other = build_lives(then, as_of=as_of, **how)
    for name in SAME:
        assert_frame_equal(getattr(one, name), getattr(other, name))
    assert one.notes == other.notes


@given(history=histories)
def test_one_unit_does_not_change_another(new_book, history):
    book = write(new_book, history)
    # Shares are the one thing that units of a model have in common.
    together = book.build(date(2009, 1, 1), unknown_cause="capacitor").lives
    records = book.records()
    alone = {
        **records,
        "units": records["units"].filter(unit="a"),
        "reports": records["reports"].filter(unit="a"),
    }
    lives = build_lives(alone, as_of=date(2009, 1, 1), unknown_cause="capacitor").lives
    assert_frame_equal(lives, together.filter(unit="a"))


@given(history=histories)
def test_caller_frames_are_left_alone(new_book, history):
    records = write(new_book, history).records()
    before = {k: f.clone() for k, f in records.items()}
    build_lives(records, as_of=date(2009, 1, 1))
    for kind, frame in records.items():
        assert_frame_equal(frame, before[kind])


plain = st.lists(
    st.tuples(st.integers(1, 2000), st.sampled_from(["working", "failed", "recapped"])),
    max_size=8,
    unique_by=lambda event: event[0],
)


@given(plain=plain, enrolled=st.integers(0, 1000))
def test_plain_histories_against_a_few_lines_of_arithmetic(new_book, plain, enrolled):
    """Days known to the day, failures by capacitors and in use, recaps without a reason."""
    book = new_book().unit(manufactured=str(FIRST), enrolled_on=str(FIRST + timedelta(enrolled)))
    expected = []
    # As they are told: set, start, entry, last seen working, failed on, ended on.
    number, start, seen, failed = 1, 0, None, None

    def close(recapped):
        if seen is None or (failed is not None and failed < max(enrolled, start)):
            return
        entry = max(0, enrolled - start)
        if failed is not None:
            high = failed - start
            low = high if high > entry else entry
            expected.append((number, entry, low, max(high, entry + 1) if high == entry else high))
        else:
            last = seen if recapped is None else recapped
            expected.append((number, entry, max(entry, last - start), None))

    events = sorted([*plain, (enrolled, "enrolled")], key=lambda e: (e[0], e[1] != "enrolled"))
    known = False
    for day, kind in events:
        if kind == "enrolled":
            known, seen = True, day
        elif kind == "working" and known:
            seen = day
        elif kind == "failed" and failed is None:
            failed = day
        elif kind == "recapped":
            close(day)
            number, start, failed = number + 1, day, None
            seen = day if known else None
    close(None)
    for day, kind in plain:
        book.report(str(FIRST + timedelta(day)), kind)
    lives = book.build(date(2009, 1, 1)).lives
    assert lives.select("set_no", "entry", "low", "high").rows() == expected
